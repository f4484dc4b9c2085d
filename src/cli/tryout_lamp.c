#include "tryout_lamp.h"

#include "lamp_report.h"
#include "text.h"

char*
tryout_lamp_parts(const VwLamp* lamp) {
  const VwTimerWish wish = vw_timer_defaults(lamp);
  VwTimer           timer = {0};
  char              c[40];
  char              plain[40];
  char              fixed[40];
  char              whole[40];
  char              set[40];
  if (vw_timer_find(&wish, &timer)) {
    return NULL;
  }
  return text_format(
    "555 at %g V with a diode across RB: C %s; %s %s; %s %s in series with a "
    "trimmer of %s, set to %s (%.0f %% of its travel)",
    wish.supply_v,
    lamp_farad(c, timer.c_farad),
    timer.trims_ra ? "RB" : "RA",
    lamp_ohm(plain, timer.plain_ohm),
    timer.trims_ra ? "RA" : "RB",
    lamp_ohm(fixed, timer.fixed_ohm),
    lamp_ohm(whole, timer.trimmer_ohm),
    lamp_ohm(set, timer.set_ohm),
    100.0 * timer.set_share);
}
