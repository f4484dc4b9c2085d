// The loop itself: its end is crossfaded with what lies before its start.

#include "base/units.h"
#include "join/join.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// Levels are compared over so long, and looked at twice as often.
#define LEVEL_S 0.1

// Windows in which tones are told apart: lines of 10 Hz, if a crossfade holds
// two of them. In shorter ones the plain crossfade is as good.
#define WINDOW_S 0.2
#define WINDOW_LEAST_S 0.04

// Terms of the series behind the first.
#define TERMS 3U

/* The crossfade */

VwGains
vw_join_gains(size_t i, size_t n, double likeness) {
  const double x = (double)i / (double)n;
  const double r = fmin(fmax(likeness, -0.9), 1.0);
  const double scale =
    sqrt(x * x + (1.0 - x) * (1.0 - x) + 2.0 * r * x * (1.0 - x));
  return (VwGains){(1.0 - x) / scale, x / scale};
}

double
vw_join_power(const VwSound* sound, size_t from, size_t n) {
  double power = 0.0;
  for (size_t i = from; i < from + n && i < sound->n_frames; ++i) {
    power += vw_sound_power_at(sound, i);
  }
  return n ? power / (double)n : 0.0;
}

double
vw_join_trend_db(const VwSound* sound, const VwJoin* join) {
  const size_t from = join->start_frame - join->blend_frames;
  const double before = vw_join_power(sound, from, join->blend_frames);
  const double after =
    vw_join_power(sound, from + join->n_frames, join->blend_frames);
  return before > 0.0 && after > 0.0 ? vw_db_of_power(before / after) : 0.0;
}

/// Gain at a frame of the loop, for its level to be the same at both ends.
static double
trend_at(const VwJoin* join, size_t i) {
  const double share = (double)i / (double)join->n_frames;
  return join->trend_db == 0.0 ? 1.0 : vw_gain_of_db(join->trend_db * share);
}

/// Crossfade by the likeness of all that sounds.
static void
blend_plainly(const VwSound* sound, const VwJoin* join, VwSound* loop) {
  const size_t n_channels = sound->n_channels;
  const size_t steady = join->n_frames - join->blend_frames;
  const double whole = vw_gain_of_db(join->trend_db);
  const float* in =
    sound->values + (join->start_frame - join->blend_frames) * n_channels;
  for (size_t i = steady; i < join->n_frames; ++i) {
    const double  trend = trend_at(join, i);
    const VwGains gains =
      vw_join_gains(i - steady, join->blend_frames, join->likeness);
    for (size_t c = 0; c < n_channels; ++c, ++in) {
      float* const at = &loop->values[i * n_channels + c];
      *at = (float)(gains.out * (double)*at +
                    gains.in * trend / whole * (double)*in);
    }
  }
}

/* Each tone by itself */

/// A term of sin(x a) / sin(a) in powers of the square of `a`.
static double
term_of(size_t power, double x) {
  const double y = x * x;
  switch (power) {
    case 0:
      return x;
    case 1:
      return x * (1.0 - y) / 6.0;
    case 2:
      return x * (7.0 - 10.0 * y + 3.0 * y * y) / 360.0;
    default:
      return x * (31.0 - 49.0 * y + 21.0 * y * y - 3.0 * y * y * y) / 15120.0;
  }
}

/// What goes and comes.
typedef struct {
  VwSlide   slide; ///< The one comes, the other goes.
  VwShifts* shifts;
  size_t    margin; ///< Frames about both that have a part in them.
  VwPair*   sums;   ///< Of one channel.
} Ends;

/// A value of a channel, the sound being set off by so many frames of silence.
static double
value_at(const VwSound* sound, size_t at, size_t margin, size_t channel) {
  return at >= margin && at - margin < sound->n_frames
           ? (double)sound->values[(at - margin) * sound->n_channels + channel]
           : 0.0;
}

/// Lead every tone of a channel over as if it were alone.
static VwStatus
blend_channel(const Ends* ends, size_t channel) {
  const VwSlide* const slide = &ends->slide;
  const size_t         n_all = slide->n + 2U * ends->margin;
  VwPair* const        pairs = calloc(n_all, sizeof(VwPair));
  VwStatus             st = pairs ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < n_all; ++i) {
    pairs[i] =
      (VwPair){value_at(slide->one, slide->at + i, ends->margin, channel),
               value_at(slide->other, slide->from + i, ends->margin, channel)};
  }
  for (size_t i = 0; !st && i < slide->n; ++i) {
    ends->sums[i] = (VwPair){0.0, 0.0};
  }
  for (size_t power = 0; !st && power <= TERMS; ++power) {
    for (size_t i = 0; i < slide->n; ++i) {
      const double  x = (double)i / (double)slide->n;
      const VwPair* pair = &pairs[ends->margin + i];
      ends->sums[i].one += term_of(power, x) * pair->one;
      ends->sums[i].other += term_of(power, 1.0 - x) * pair->other;
    }
    st = power < TERMS ? vw_shifts_weigh(ends->shifts, pairs, n_all) : VW_OK;
  }
  free(pairs);
  return st;
}

static VwStatus
blend_apart(const VwSound* sound,
            const VwJoin*  join,
            size_t         n_window,
            VwSound*       loop) {
  const size_t n = join->blend_frames;
  const size_t steady = join->n_frames - n;
  const size_t from = join->start_frame - n;
  const double gain = 1.0 / vw_gain_of_db(join->trend_db);
  Ends ends = {.slide = {sound, from, sound, from + join->n_frames, n, 1U},
               .margin = TERMS * n_window,
               .sums = calloc(n, sizeof(VwPair))};
  ends.shifts = vw_shifts_find(&ends.slide, n_window);
  VwStatus st = ends.shifts && ends.sums ? VW_OK : VW_NO_MEMORY;
  for (size_t c = 0; !st && c < sound->n_channels; ++c) {
    st = blend_channel(&ends, c);
    for (size_t i = 0; !st && i < n; ++i) {
      loop->values[(steady + i) * sound->n_channels + c] =
        (float)(trend_at(join, steady + i) *
                (ends.sums[i].other + gain * ends.sums[i].one));
    }
  }
  vw_shifts_free(ends.shifts);
  free(ends.sums);
  return st;
}

VwStatus
vw_join_loop(const VwSound* sound, const VwJoin* join, VwSound* loop) {
  const double rate_hz = (double)sound->rate_hz;
  const size_t usual = vw_frames_of_s(WINDOW_S, rate_hz) / 2U;
  const size_t room = join->blend_frames / 4U;
  const size_t n_window = 2U * (usual < room ? usual : room);
  VwStatus st = vw_sound_part(sound, join->start_frame, join->n_frames, loop);
  for (size_t i = 0; !st && i < join->n_frames; ++i) {
    vw_sound_scale_frame(loop, i, trend_at(join, i));
  }
  if (!st && join->likeness >= VW_JOIN_ALIKE &&
      n_window >= vw_frames_of_s(WINDOW_LEAST_S, rate_hz)) {
    st = blend_apart(sound, join, n_window, loop);
  } else if (!st) {
    blend_plainly(sound, join, loop);
  }
  if (st) {
    vw_sound_clear(loop);
  }
  return st;
}

/* The level about the join */

/// The power of `n_window` frames about a frame of what repeats, by running
/// sums.
static double
power_about(const double* sums, size_t n, size_t n_window, size_t middle) {
  const size_t from = (middle + n - n_window / 2U) % n;
  const size_t to = from + n_window;
  return to <= n ? sums[to] - sums[from] : sums[n] - sums[from] + sums[to - n];
}

VwStatus
vw_join_level_db(const VwSound* sound, const VwJoin* join, double* level_db) {
  const size_t  n = join->n_frames;
  const size_t  usual = vw_frames_of_s(LEVEL_S, (double)sound->rate_hz);
  const size_t  n_window = usual < n / 2U ? usual : n / 2U;
  const size_t  n_hop = n_window / 2U ? n_window / 2U : 1U;
  const size_t  n_powers = n / n_hop;
  VwSound       loop = {0};
  double* const sums = calloc(n + 1U, sizeof(double));
  double* const powers = calloc(n_powers + 1U, sizeof(double));
  VwStatus      st = sums && powers ? VW_OK : VW_NO_MEMORY;
  st = st ? st : vw_join_loop(sound, join, &loop);
  *level_db = 0.0;
  if (!st && n_window) {
    for (size_t i = 0; i < n; ++i) {
      sums[i + 1U] = sums[i] + vw_sound_power_at(&loop, i);
    }
    for (size_t i = 0; i < n_powers; ++i) {
      powers[i] = power_about(sums, n, n_window, i * n_hop);
    }
    qsort(powers, n_powers, sizeof(double), vw_compare_doubles);
    const size_t at[] = {
      0U, n - join->blend_frames / 2U, n - join->blend_frames};
    for (size_t i = 0; i < 3U; ++i) {
      const double db = vw_db_of_power(
        power_about(sums, n, n_window, at[i] % n) / powers[n_powers / 2U]);
      *level_db = fabs(db) > fabs(*level_db) ? db : *level_db;
    }
  }
  vw_sound_clear(&loop);
  free(sums);
  free(powers);
  return st;
}
