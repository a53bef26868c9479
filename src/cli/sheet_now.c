#include "sheet_now.h"

#include "sheet.h"

#include <time.h>

/* Minutes by which the yard's clocks were ahead of UTC at that instant. */
static int utc_offset_min(int64_t at_us)
{
    const time_t at = (time_t)(at_us / 1000000);
    struct tm local, utc;
    if (!localtime_r(&at, &local) || !gmtime_r(&at, &utc))
        return 0;
    const int days = local.tm_year != utc.tm_year ? local.tm_year - utc.tm_year : local.tm_yday - utc.tm_yday;
    return days * 1440 + (local.tm_hour - utc.tm_hour) * 60 + local.tm_min - utc.tm_min;
}

void wh_sheet_now(wh_text *text, const wh_yard_case *yard_case, const wh_case_options *options, bool html)
{
    const wh_sweep *sweep = yard_case->sweep;
    const wh_sheet sheet = {.unit = yard_case->unit,
                            .sweep = sweep,
                            .attribution = yard_case->attribution,
                            .findings = yard_case->findings,
                            .changes = yard_case->changes,
                            .verification = yard_case->verification,
                            .site = options->site,
                            .reference_c = options->thresholds->reference_c,
                            .pressure_unit = options->pressure_unit,
                            .temperature_unit = options->temperature_unit,
                            .utc_offset_min = sweep->dated ? utc_offset_min(sweep->begun_us) : 0,
                            .program = "wheelhark " WH_VERSION};
    if (html)
        wh_sheet_html(text, &sheet);
    else
        wh_sheet_text(text, &sheet);
}
