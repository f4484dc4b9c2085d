#include "base/units.h"
#include "take/internal.h"

#include <math.h>

// What rings before is taken from so far before where its start is looked for,
// and what it rises to over the loudest so much.
#define RINGS_S 0.015
#define RISEN_S 0.003

// It has sunk again if it has over so much at the end of what is looked at.
#define SUNK_S 0.001

// One frame tells so much at most, lest a click outweigh what follows, and
// nothing is taken as farther down than this.
#define MOST_EVIDENCE 8.0
#define LEAST_DB (-50.0)

// A straight rise is supposed so long at most, its start tried in such steps.
#define RISE_S 0.003
#define GRID_S 0.00015

static double
mean_power(const VwSound* sound, size_t from, size_t to) {
  double sum = 0.0;
  for (size_t i = from; i < to; ++i) {
    sum += vw_sound_power_at(sound, i);
  }
  return to > from ? sum / (double)(to - from) : 0.0;
}

/// What is known of a rise where its start is looked for.
typedef struct {
  const VwSound* sound;
  size_t         from, to; ///< Frames looked at.
  size_t         loudest;  ///< From there the 3 ms are that are the loudest.
  double         before;   ///< Power of what rings.
  double         risen;    ///< Power to which it rises: that of those 3 ms.
} Rise;

static void
find_risen(Rise* rise) {
  const size_t n = vw_frames_of_s(RISEN_S, rise->sound->rate_hz);
  const size_t last = rise->to - rise->from > n ? rise->to - n : rise->from;
  for (size_t at = rise->from;; at += n / 2U + 1U) {
    const size_t i = at < last ? at : last;
    const size_t to = i + n < rise->to ? i + n : rise->to;
    const double power = mean_power(rise->sound, i, to);
    if (power > rise->risen) {
      rise->risen = power;
      rise->loudest = i;
    }
    if (i == last) {
      return;
    }
  }
}

/// One past the last frame that may start the rise: a click's loudest, if what
/// sounds has sunk again, to where it tells of what rings.
static size_t
latest_start(const Rise* rise, double neutral) {
  const VwSound* const sound = rise->sound;
  const size_t         n = vw_frames_of_s(RISEN_S, sound->rate_hz);
  size_t               highest = rise->loudest;
  const size_t         n_sunk = vw_frames_of_s(SUNK_S, sound->rate_hz);
  if (mean_power(sound, rise->to > n_sunk ? rise->to - n_sunk : 0U, rise->to) >=
      neutral) {
    return rise->to;
  }
  for (size_t i = rise->loudest; i < rise->loudest + n && i < rise->to; ++i) {
    highest = vw_sound_power_at(sound, i) > vw_sound_power_at(sound, highest)
                ? i
                : highest;
  }
  return highest + 1U;
}

/// The frame from which the power is that of the event and not of what rings
/// before: Page's change point, as in vw_attack_find().
static size_t
change_point(const Rise* rise) {
  const double slope = 0.5 * (1.0 / rise->before - 1.0 / rise->risen);
  const double offset = 0.5 * log(rise->risen / rise->before);
  double       sum = 0.0;
  double       lowest = 0.0;
  size_t       change = rise->from;
  const size_t to = latest_start(rise, offset / slope);
  for (size_t i = rise->from; i < to; ++i) {
    const double power = vw_sound_power_at(rise->sound, i);
    sum += fmin(slope * power - offset, MOST_EVIDENCE);
    if (sum < lowest) {
      lowest = sum;
      change = i + 1U;
    }
  }
  return change;
}

/// What one frame tells for a variance beside what rings alone, times two.
static double
evidence(const Rise* rise, double power, double variance) {
  return fmin(power / rise->before - power / variance -
                log(variance / rise->before),
              2.0 * MOST_EVIDENCE);
}

/// How likely a straight rise of so many frames from a start is, beside none.
static double
likelihood(const Rise* rise, const double* risen, size_t start, size_t n_rise) {
  const double added = rise->risen - rise->before;
  const size_t full = start + n_rise < rise->to ? start + n_rise : rise->to;
  double       sum = risen[full - rise->from];
  for (size_t i = start; i < full; ++i) {
    const double part = (double)(i + 1U - start) / (double)(n_rise + 1U);
    sum += evidence(rise,
                    vw_sound_power_at(rise->sound, i),
                    rise->before + added * part * part);
  }
  return sum;
}

/// The likeliest start of a rise of up to 3 ms that what rings hides in part.
static size_t
likeliest_start(const Rise* rise, double* risen, size_t change) {
  const size_t grid = vw_frames_of_s(GRID_S, rise->sound->rate_hz) + 1U;
  const size_t most = vw_frames_of_s(RISE_S, rise->sound->rate_hz);
  double       highest = -HUGE_VAL;
  size_t       best = change;
  risen[rise->to - rise->from] = 0.0;
  for (size_t i = rise->to; i-- > rise->from;) {
    const double power = vw_sound_power_at(rise->sound, i);
    risen[i - rise->from] =
      risen[i - rise->from + 1U] + evidence(rise, power, rise->risen);
  }
  for (size_t n_rise = 0; n_rise <= most; n_rise += most / 3U + 1U) {
    for (size_t back = 0; back <= most && change >= rise->from + back;
         back += grid) {
      const double likely = likelihood(rise, risen, change - back, n_rise);
      if (likely > highest) {
        highest = likely;
        best = change - back;
      }
    }
  }
  return best;
}

size_t
vw_start_room(unsigned rate_hz) {
  return 2U * vw_frames_of_s(VW_START_S, rate_hz) + 1U;
}

size_t
vw_start_about(const VwSound* sound,
               size_t         about,
               double         reach_s,
               double*        room) {
  const size_t reach = vw_frames_of_s(reach_s, sound->rate_hz);
  const size_t rings = vw_frames_of_s(RINGS_S, sound->rate_hz);
  Rise         rise = {.sound = sound};
  rise.from = about > reach ? about - reach : 0U;
  rise.to = about + reach < sound->n_frames ? about + reach : sound->n_frames;
  find_risen(&rise);
  rise.before = fmax(
    mean_power(sound, rise.from > rings ? rise.from - rings : 0U, rise.from),
    rise.risen * vw_power_of_db(LEAST_DB));
  if (rise.risen <= rise.before) {
    return about;
  }
  const size_t change = change_point(&rise);
  return change >= sound->n_frames ? about
                                   : likeliest_start(&rise, room, change);
}
