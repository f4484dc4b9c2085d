/// @file
/// What is heard of a fire rate from a board.
#ifndef VW_CLI_LAMP_HEARD_H
#define VW_CLI_LAMP_HEARD_H

#include "cli/options/settings.h"

/// The gap between repeats: as asked, or else the board's.
double lamp_heard_gap_ms(const Settings* settings);

/// The cycle that `loop` would make of one take for the board.
VwStatus lamp_heard_find(const Settings* settings,
                         double          fire_rate_per_s,
                         VwPlan*         plan);

#endif
