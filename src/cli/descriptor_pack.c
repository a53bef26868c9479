#include "descriptor_actions.h"

int wh_descriptor_pack(const wh_args *args, const wh_descriptor_options *options)
{
    (void)options;
    return wh_args_complain(args, "'pack' is not there yet");
}
