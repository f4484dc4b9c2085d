#include "cli/lamp/lamp_heard.h"

#include "board/board.h"
#include "burst/burst.h"

double
lamp_heard_gap_ms(const Settings* settings) {
  return settings->has_board && !settings_is_given(settings, "gap")
           ? settings->board.gap_ms
           : settings->family.gap_ms;
}

VwStatus
lamp_heard_find(const Settings* settings,
                double          fire_rate_per_s,
                VwPlan*         plan) {
  VwFamilyOptions options = settings->family;
  VwBoard         board = settings->board;
  board.gap_ms = lamp_heard_gap_ms(settings);
  const VwStatus st = vw_board_apply(&board, &settings->board_wish, &options);
  options.fire_rate_per_s = fire_rate_per_s;
  return st ? st : vw_plan_find(&options, plan);
}
