/* wheelhark doctor: why does it not hear anything? */
#include "command.h"
#include "doctor.h"

enum { OPTION_DONGLE = 1, OPTION_FREQUENCY, OPTION_GAIN, OPTION_DURATION, OPTION_DESCRIPTORS };

static const wh_option options[] = {
    {OPTION_DONGLE, 0, "dongle", "SERIAL", "Examine this dongle. Default: all, and listen to the first good one."},
    {OPTION_FREQUENCY, 'f', "frequency", "FREQUENCY", "Where to listen. Default 433.92 MHz."},
    {OPTION_GAIN, 'g', "gain", "GAIN", "In dB; default: automatic."},
    {OPTION_DURATION, 't', "duration", "TIME", "How long to listen. Default 1 s."},
    {OPTION_DESCRIPTORS, 'd', "descriptors", "PLACE", "A descriptor file, or a folder of them, to look at first."},
    {0},
};

static bool number_within(const char *text, const char *unit, double least, double most, double *out)
{
    double value;
    if (!wh_number_parse(text, unit, &value) || !(value >= least && value <= most))
        return false;
    *out = value;
    return true;
}

static bool take(wh_doctor_options *doctor, int id, const char *value)
{
    switch (id) {
    case OPTION_DONGLE: doctor->serial = value; return true;
    case OPTION_FREQUENCY: return number_within(value, "Hz", 24e6, 1766e6, &doctor->centre_hz);
    case OPTION_GAIN: return number_within(value, "dB", -10.0, 100.0, &doctor->gain_db);
    case OPTION_DURATION: return number_within(value, "s", 0.1, 60.0, &doctor->listen_s);
    default: doctor->descriptors = value; return true;
    }
}

static int run(wh_args *args)
{
    wh_doctor_options doctor;
    wh_doctor_options_defaults(&doctor);
    const char *value;
    int id;
    while ((id = wh_args_next(args, &value)) > 0) {
        if (!take(&doctor, id, value))
            return wh_args_complain(args, "'%s' is not a value for this option", value);
    }
    if (id < 0)
        return wh_args_status(args);
    if (wh_args_operand_count(args) > 0)
        return wh_args_complain(args, "'%s': takes options only", wh_args_operand(args, 0));
    wh_stop_install();
    return wh_doctor_examine(&doctor, stdout);
}

const wh_command wh_cmd_doctor = {
    .name = "doctor",
    .summary = "find out why nothing is heard, and what to do",
    .notes =
        "Looks at the descriptors, the dongle, your right to use it, who else uses it, and at a moment of\n"
        "samples. Each line begins with \"good\", \"look\" (works, but see the line below) or \"FAULT\"; an arrow\n"
        "shows the one thing to do. Other users' programs that hold the dongle are seen by root only:\n"
        "sudo wheelhark doctor.\n\n"
        "Exit status: 0 everything works, 1 works but something should be looked at, 69 no usable dongle,\n"
        "74 the dongle sends nothing, 75 it is in use, 77 no right to use it, 78 no descriptors.",
    .options = options,
    .run = run,
};
