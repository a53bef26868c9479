#include "early_text.h"

void wh_early_text(wh_text *text, const wh_report_style *style, const wh_reading *reading, unsigned columns)
{
    char number[WH_FIXED_SIZE];
    const size_t before = text->length;
    wh_text_print(text, "heard %s",
                  reading->sensor); /* hex digits, or a nickname made of them: nothing steers a terminal */
    if (reading->pressure_state == WH_VALUE_OK)
        wh_text_print(
            text, ", %s %s gauge",
            wh_fixed(number, wh_kpa_to(reading->pressure.kpa, style->pressure), style->pressure == WH_BAR ? 2 : 1),
            wh_pressure_unit_name(style->pressure));
    if (reading->temperature_state == WH_VALUE_OK)
        wh_text_print(text, ", %s %s", wh_fixed(number, wh_celsius_to(reading->temperature_c, style->temperature), 1),
                      wh_temperature_unit_name(style->temperature));
    wh_text_add(text, "; waiting for further copies");
    if (text->length > before + columns) {
        text->length = before + columns;
        text->data[text->length] = '\0';
    }
}
