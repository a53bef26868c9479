/* Survey: what a strong burst shows of itself before any kind of radio is tried on it. Trying a radio takes a tenth of
 * a millisecond, looking where a burst's edges lie takes less, and tells most radios apart at once. What the survey
 * does not see well it leaves open: weak bursts and several transmitters at once are tried with every radio. */
#ifndef WH_SURVEY_H
#define WH_SURVEY_H

#include "demod.h"
#include "tones.h"

#include <stdbool.h>

typedef struct wh_survey wh_survey;

wh_survey *wh_survey_create(void); /* NULL when memory is out */
void wh_survey_destroy(wh_survey **survey);
/* Look at a burst and its periodogram. */
void wh_survey_make(wh_survey *survey, const wh_tone_map *map, const wh_baseband *baseband);
/* Exclude nothing from now on. */
void wh_survey_forget(wh_survey *survey);
/* An emission of the burst was decoded beyond doubt, as this modulation and these chips: from now on exclude all
 * radios in whose windows it does not lie. */
void wh_survey_know(wh_survey *survey, wh_modulation modulation, const wh_chips *chips);
/* Is it certain that the burst's loudest transmitter is not of this kind? WH_DEMOD_OK when it is not;
 * WH_DEMOD_NO_CLOCK when it is keyed at another rate, WH_DEMOD_WRONG_MODULATION when otherwise. */
wh_demod_verdict wh_survey_judge(const wh_survey *survey, const wh_radio *radio);
/* Were any edges seen clearly? */
bool wh_survey_sees(const wh_survey *survey);
/* Were its edges seen clearly, as this kind of radio makes them? */
bool wh_survey_is_clear(const wh_survey *survey, const wh_radio *radio);
/* Is there no sign of a second transmitter, which might be of a kind that is excluded? */
bool wh_survey_is_alone(const wh_survey *survey);

#endif
