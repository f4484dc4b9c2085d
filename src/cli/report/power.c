// What a sound takes from amplifier and cell.

#include "signal/power.h"
#include "cli/message/figures.h"
#include "cli/message/message.h"
#include "cli/report/sections.h"

#include <math.h>
#include <stdlib.h>

static VwPowerWish
wish_of(const Report* report) {
  VwPowerWish wish = report->settings->power;
  wish.lamp_duty = report->family->lamp.duty;
  return wish;
}

bool
power_is_asked(const Report* report) {
  const VwPowerWish* const wish = &report->settings->power;
  return report->family && report->family->drive.peak > 0.0 &&
         wish->supply_v > 0.0 && wish->impedance_ohm > 0.0;
}

VwPower
power_of(const Report* report) {
  const VwPowerWish wish = wish_of(report);
  return vw_power_of(&report->family->drive, &wish);
}

/// A key, and what it gives.
typedef struct {
  const char* name;
  double      value;
} Known;

/// Those of up to four keys that nobody gave, if what they give is asked for;
/// NULL: none. To be freed.
static char*
wanted(const Known* keys, bool asked) {
  char* list = NULL;
  for (size_t i = 0; asked && i < 4U; ++i) {
    if (keys[i].name && isnan(keys[i].value)) {
      list = text_more(list, ", ", "%s", keys[i].name);
    }
  }
  return list;
}

/// Set what is missing of a figure for which something was given.
static void
set_wanted(Figures* power, const VwPowerWish* wish) {
  const Known efficiency = {"efficiency", wish->efficiency};
  const Known hours[4] = {efficiency,
                          {"quiescent-current", wish->quiescent_a},
                          {"cell-capacity", wish->cell_ah},
                          {"firing-share", wish->firing_share}};
  const Known volts[4] = {efficiency, {"cell-resistance", wish->cell_ohm}};
  const Known amperes[4] = {efficiency};
  const bool  asks_h = !isnan(wish->cell_ah) || !isnan(wish->firing_share);
  const bool  asks_v = !isnan(wish->cell_ohm) || !isnan(wish->wire_ohm) ||
                      !isnan(wish->supply_min_v);
  const bool asks_a =
    !asks_h && !asks_v && (!isnan(wish->quiescent_a) || !isnan(wish->lamp_a));
  char* const hours_want = wanted(hours, asks_h);
  char* const volts_want = wanted(volts, asks_v);
  char* const amperes_want = wanted(amperes, asks_a);
  figures_set(power, "hours_want", hours_want);
  figures_set(power, "voltage_wants", volts_want);
  figures_set(power, "current_wants", amperes_want);
  free(hours_want);
  free(volts_want);
  free(amperes_want);
}

Figures*
made_power(const Report* report) {
  if (!power_is_asked(report)) {
    return NULL;
  }
  const VwPowerWish wish = wish_of(report);
  const VwPower     of = power_of(report);
  const bool        track = report->settings->family.lamp_track.wanted;
  Figures* const    power = figures_new();
  figures_set(power, "supply_v", wish.supply_v);
  figures_set(power, "impedance_ohm", wish.impedance_ohm);
  figures_set(
    power, "speakers", track ? 1U : report->family->format.n_channels);
  figures_set(power, "speaker_mean_w", of.speaker_w.mean);
  figures_set(power, "speaker_10ms_w", of.speaker_w.most_10ms);
  figures_set(power, "speaker_peak_w", of.speaker_w.peak);
  figures_set(power, "supply_mean_a", of.supply_a.mean);
  figures_set(power, "supply_10ms_a", of.supply_a.most_10ms);
  figures_set(power, "supply_peak_a", of.supply_a.peak);
  figures_set(power, "quiescent_a", wish.quiescent_a);
  figures_set(power, "lamp_a", wish.lamp_duty > 0.0 ? wish.lamp_a : NAN);
  figures_set(power, "lamp_duty", wish.lamp_duty);
  figures_set(power, "firing_share", wish.firing_share);
  figures_set(power, "with_pauses_a", of.mean_a);
  figures_set(power, "cell_ah", wish.cell_ah);
  figures_set(power, "cell_hours", of.cell_h);
  figures_set(power, "wire_ohm", wish.wire_ohm);
  figures_set(power, "cell_10ms_v", of.supply_v.most_10ms);
  figures_set(power, "cell_peak_v", of.supply_v.peak);
  figures_set(power, "supply_min_v", wish.supply_min_v);
  set_wanted(power, &wish);
  return power;
}

static const Line lines[] = {
  {NULL, "Power", "verbose"},
  {"power",
   "{sound?{sound}: }{speaker_mean_w:.3g} W into {two?both speakers}"
   "{!two?the speaker}, {speaker_peak_w:.3g} W at the peak"
   "{supply_mean_a?; {supply_mean_a:.3g} A drawn}",
   "!verbose",
   true},
  {"cell",
   "{cell_hours?{cell_hours:.1f} hours, firing for {firing_share:%} of the "
   "time}{cell_hours cell_peak_v?; }{cell_peak_v?{cell_peak_v:.2f} V left at "
   "the peaks}",
   "!verbose cell",
   true},
  {"speaker",
   "{speaker_mean_w:.3g} W on average, {speaker_10ms_w:.3g} W over 10 ms, "
   "{speaker_peak_w:.3g} W at the peak{two?, both together}",
   "verbose"},
  {"",
   "of {impedance_ohm:.4g} ohm; full scale is {supply_v:.4g} V, the supply: a "
   "bridged amplifier",
   "verbose"},
  {"supply",
   "{supply_mean_a:.3g} A while it fires, {supply_10ms_a:.3g} A over 10 ms, "
   "{supply_peak_a:.3g} A at the peak",
   "verbose supply_mean_a"},
  {"",
   "{lamp_a?with the lamp's {lamp_a:.3g} A for {lamp_duty:%} of the time}"
   "{!lamp_a?without a lamp}{!quiescent_a? and what it takes in silence}",
   "verbose supply_mean_a"},
  {"cell",
   "{cell_hours:.1f} hours of {cell_ah:.4g} Ah, firing for {firing_share:%} of "
   "the time, {with_pauses_a:.3g} A on average; cold or old it gives less",
   "verbose cell_hours",
   true},
  {"voltage",
   "{cell_peak_v:.2f} V left at the peaks, {cell_10ms_v:.2f} V over 10 ms"
   "{!wire_ohm?, its wires left out}"
   "{supply_min_v?; the board runs from {supply_min_v:.4g} V}",
   "verbose cell_peak_v",
   true},
  {"cell",
   "how long it lasts is open without {hours_want}",
   "hours_want",
   true},
  {"voltage",
   "what the cell leaves is open without {voltage_wants}"
   "{supply_min_v?, so nothing is compared with {supply_min_v:.4g} V}",
   "voltage_wants",
   true},
  {"supply",
   "what it draws is open without {current_wants}",
   "current_wants",
   true},
};

void
power_text(const Report* report, FILE* out) {
  Figures* const power = made_power(report);
  if (!power) {
    return;
  }
  figures_set(power, "verbose", report->settings->verbose);
  figures_set(
    power, "sound", report->packed ? report->packed->sound->wish->name : NULL);
  figures_set(power, "two", figures_get(power, "speakers").number > 1.0);
  figures_set(power,
              "cell",
              figures_hold(power, "cell_hours") ||
                figures_hold(power, "cell_peak_v"));
  figures_lines(power, LINES(lines), out);
  caution_lines(VW_CAUTION_WIRING, report->cautioned, out);
  figures_free(power);
}
