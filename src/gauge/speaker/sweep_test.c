// The test sound of a speaker, and where it lies in a recording.

#include "base/units.h"
#include "gauge/speaker/speaker.h"

#include <math.h>
#include <stdlib.h>

// 100 Hz to 16 kHz in 5 to 10 s at -12 dBFS (common practice); below 100 Hz it
// fades in.
#define LOW_HZ 80.0
#define FULL_HZ 100.0
#define HIGH_HZ 16000.0
#define SWEEP_S 8.0
#define LEVEL_DBFS (-12.0)
#define FADE_OUT_OCTAVES (1.0 / 12.0)

// A sample rate carries what lies below this part of it.
#define HIGH_OF_RATE 0.45

// Silence in front, where converters wake; between marks and sweep, where a
// room dies away; and at the end (chosen here).
#define LEAD_S 0.25
#define BEFORE_S 0.4
#define BEHIND_S 0.9
#define END_S 0.2

// A mark rises and falls over so long, so that it does not click.
#define MARK_EDGE_S 0.005

// How alike a mark and a recording have to be: both, if they lie as far apart
// as they should, and one alone. Noise is at most 0.25 alike in 10 minutes.
#define ALIKE_BOTH 0.22
#define ALIKE_ONE 0.35

// By how much a clock may be off: more than any is, and a quarter of what the
// lengths of two sample rates differ by.
#define CLOCK_MOST 0.005

// What lies below no small speaker plays, and the room rumbles.
#define MARK_CORNER_HZ 400.0

#define BLOCK_FRAMES 65536U
#define PLACES_MOST 8U
#define PLACE_APART_S 0.05
#define SILENT_PEAK 1e-4

// The answers to both marks are compared over so long.
#define ANSWER_S 0.04

// What is fainter than this part of the peak is no mark.
#define FAINT 0.01

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// Sample rates of boards; each length tells one.
static const double rates_hz[] =
  {8000.0, 11025.0, 12000.0, 16000.0, 22050.0, 24000.0, 32000.0, 44100.0};

VwSweepTest
vw_sweep_test(double rate_hz) {
  const double pace_s = SWEEP_S / log(HIGH_HZ / LOW_HZ);
  double       high_hz = HIGH_OF_RATE * rates_hz[0];
  for (size_t i = 0; i < COUNT(rates_hz) && rates_hz[i] <= rate_hz; ++i) {
    high_hz = fmin(HIGH_OF_RATE * rates_hz[i], HIGH_HZ);
  }
  VwSweepTest test = {
    .sweep = {.low_hz = LOW_HZ,
              .high_hz = high_hz,
              .seconds = pace_s * log(high_hz / LOW_HZ),
              .fade_in_s = pace_s * log(FULL_HZ / LOW_HZ),
              .fade_out_s = pace_s * FADE_OUT_OCTAVES * VW_LN2},
    .rise_s = LEAD_S};
  test.sweep_s = test.rise_s + VW_SWEEP_MARK_S + BEFORE_S;
  test.fall_s = test.sweep_s + test.sweep.seconds + BEHIND_S;
  test.seconds = test.fall_s + VW_SWEEP_MARK_S + END_S;
  return test;
}

VwSweep
vw_sweep_mark(void) {
  return (VwSweep){VW_SWEEP_MARK_LOW_HZ,
                   VW_SWEEP_MARK_HIGH_HZ,
                   VW_SWEEP_MARK_S,
                   MARK_EDGE_S,
                   MARK_EDGE_S};
}

double
vw_sweep_mark_at(bool falls, double time_s) {
  const VwSweep mark = vw_sweep_mark();
  return vw_sweep_at(&mark, falls ? VW_SWEEP_MARK_S - time_s : time_s);
}

VwStatus
vw_sweep_test_make(unsigned rate_hz, unsigned n_channels, VwSound* sound) {
  const VwSweepTest test = vw_sweep_test(rate_hz);
  const size_t      n = vw_frames_of_s(test.seconds, rate_hz);
  const double      gain = vw_gain_of_db(LEVEL_DBFS);
  VwSound           made = {0};
  const VwStatus    st = vw_sound_init(&made, n, n_channels, rate_hz);
  for (size_t i = 0; !st && i < n; ++i) {
    const double time_s = (double)i / rate_hz;
    const double value =
      gain * (vw_sweep_mark_at(false, time_s - test.rise_s) +
              vw_sweep_at(&test.sweep, time_s - test.sweep_s) +
              vw_sweep_mark_at(true, time_s - test.fall_s));
    for (unsigned c = 0; c < n_channels; ++c) {
      made.values[i * n_channels + c] = (float)value;
    }
  }
  if (!st) {
    *sound = made;
  }
  return st;
}

/* Where it lies */

/// Where a recording is like a mark.
typedef struct {
  size_t frame;
  double alike; ///< 0 to 1.
} Place;

/// The places most like a mark, the best first.
typedef struct {
  Place  places[PLACES_MOST];
  size_t n;
} Places;

/// Keep a place among the best, if none better is near.
static void
keep(Places* of, Place place, size_t apart) {
  size_t at = of->n;
  for (size_t i = 0; i < of->n; ++i) {
    const size_t frame = of->places[i].frame;
    const bool   near =
      (frame > place.frame ? frame - place.frame : place.frame - frame) < apart;
    if (near && of->places[i].alike >= place.alike) {
      return;
    }
    at = near ? i : at;
  }
  if (at == of->n && of->n < PLACES_MOST) {
    ++of->n;
  } else if (at == PLACES_MOST) {
    at = PLACES_MOST - 1U;
    if (of->places[at].alike >= place.alike) {
      return;
    }
  }
  of->places[at] = place;
  for (; at > 0U && of->places[at - 1U].alike < place.alike; --at) {
    of->places[at] = of->places[at - 1U];
    of->places[at - 1U] = place;
  }
}

/// A mark that is looked for in a recording.
typedef struct {
  float*  values; ///< Owned.
  size_t  n;
  double  energy;
  double  least; ///< Energy below which nothing is like a mark.
  float*  block; ///< Of the recording, `n` more than a block. Owned.
  double* sums;  ///< Owned.
} Search;

static void
search_clear(Search* search) {
  free(search->values);
  free(search->block);
  free(search->sums);
}

static VwStatus
search_init(Search* search, bool falls, double rate_hz) {
  const size_t n = vw_frames_of_s(VW_SWEEP_MARK_S, rate_hz);
  *search = (Search){.values = calloc(n, sizeof(float)),
                     .n = n,
                     .block = calloc(BLOCK_FRAMES + n, sizeof(float)),
                     .sums = calloc(BLOCK_FRAMES, sizeof(double))};
  if (!search->values || !search->block || !search->sums) {
    search_clear(search);
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n; ++i) {
    const double value = vw_sweep_mark_at(falls, (double)i / rate_hz);
    search->values[i] = (float)value;
    search->energy += value * value;
  }
  return VW_OK;
}

static double
square(float value) {
  return (double)value * (double)value;
}

/// Slide the mark along so many frames, at most a block, from `from` on.
static VwStatus
slide(Search* search, const VwSound* recording, size_t from, size_t n_lags) {
  const size_t n = search->n;
  for (size_t i = 0; i < n_lags + n; ++i) {
    const size_t at = from + i;
    search->block[i] = at < recording->n_frames ? recording->values[at] : 0.0F;
  }
  for (size_t i = 0; i < n_lags; ++i) {
    search->sums[i] = 0.0;
  }
  const VwCross cross = {search->values, search->block, 1U, n, n_lags};
  return vw_spectrum_cross(&cross, NULL, search->sums);
}

/// Look at one block of a recording that starts at frame `from`.
static VwStatus
look(Search* search, const VwSound* recording, size_t from, Places* places) {
  const size_t   n = search->n;
  const size_t   apart = vw_frames_of_s(PLACE_APART_S, recording->rate_hz);
  const VwStatus st = slide(search, recording, from, BLOCK_FRAMES);
  double         energy = 0.0;
  for (size_t i = 0; !st && i < n; ++i) {
    energy += square(search->block[i]);
  }
  for (size_t i = 0; !st && i < BLOCK_FRAMES; ++i) {
    const double heard = fmax(energy, 0.0) + search->least;
    const double alike = fabs(search->sums[i]) / sqrt(heard * search->energy);
    if (alike >= ALIKE_BOTH) {
      keep(places, (Place){from + i, alike}, apart);
    }
    energy += square(search->block[i + n]) - square(search->block[i]);
  }
  return st;
}

static VwStatus
find_mark(const VwSound* recording, bool falls, Places* places) {
  Search       search = {0};
  VwStatus     st = search_init(&search, falls, recording->rate_hz);
  const double low = FAINT * vw_sound_peak(recording);
  search.least = low * low * (double)search.n;
  for (size_t at = 0; !st && at < recording->n_frames; at += BLOCK_FRAMES) {
    st = look(&search, recording, at, places);
  }
  search_clear(&search);
  return st;
}

/// By how many frames a place lies too late beside another one: both marks are
/// answered alike, but either may be most alike a wave off.
static VwStatus
compare(const VwSound* recording, Place rise, Place fall, double* late) {
  const size_t n = vw_frames_of_s(ANSWER_S, recording->rate_hz);
  const size_t n_off = n / 16U;
  const size_t n_before = rise.frame < n / 2U ? rise.frame : n / 2U;
  Search       searches[2] = {{.n = 0}, {.n = 0}};
  VwStatus     st = search_init(&searches[0], false, recording->rate_hz);
  st = st ? st : search_init(&searches[1], true, recording->rate_hz);
  for (size_t i = 0; !st && i < 2U; ++i) {
    const size_t at = i ? fall.frame : rise.frame;
    st = slide(&searches[i], recording, at - n_before, n);
  }
  double most = -1.0;
  for (size_t off = 0; !st && off <= 2U * n_off; ++off) {
    double sum = 0.0;
    double energy = 1e-12;
    for (size_t i = n_off; i + n_off < n; ++i) {
      const double other = searches[1].sums[i + off - n_off];
      sum += searches[0].sums[i] * other;
      energy += other * other;
    }
    const double alike = sum / sqrt(energy);
    *late = alike > most ? (double)off - (double)n_off : *late;
    most = fmax(most, alike);
  }
  search_clear(&searches[0]);
  search_clear(&searches[1]);
  return st;
}

/// A test sound as a clock that is off by a share makes it.
static VwSweepTest
stretched(VwSweepTest test, double share) {
  const double by = 1.0 + share;
  test.sweep.low_hz /= by;
  test.sweep.high_hz /= by;
  test.sweep.seconds *= by;
  test.sweep.fade_in_s *= by;
  test.sweep.fade_out_s *= by;
  test.rise_s *= by;
  test.sweep_s *= by;
  test.fall_s *= by;
  test.seconds *= by;
  return test;
}

/// Two marks, and by how much the second one lies too late.
typedef struct {
  Place  rise;
  Place  fall;
  double late; ///< Frames.
} Pair;

/// Take two marks for those of a test sound, if they lie so far apart.
static bool
take_pair(const Pair* pair, double rate_hz, VwSweepFound* found) {
  const double apart_s =
    ((double)pair->fall.frame + pair->late - (double)pair->rise.frame) /
    rate_hz;
  for (size_t i = 0; i < COUNT(rates_hz); ++i) {
    const VwSweepTest test = vw_sweep_test(rates_hz[i]);
    const double      share = apart_s / (test.fall_s - test.rise_s) - 1.0;
    if (fabs(share) <= CLOCK_MOST) {
      found->test = stretched(test, share);
      found->start_s = (double)pair->rise.frame / rate_hz +
                       found->test.sweep_s - found->test.rise_s;
      found->ppm = share * 1e6;
      return true;
    }
  }
  return false;
}

static VwSweepMissing
best_pair(const Places* rises,
          const Places* falls,
          double        rate_hz,
          Pair*         best) {
  double most = 0.0;
  for (size_t i = 0; i < rises->n; ++i) {
    for (size_t k = 0; k < falls->n; ++k) {
      const Pair   pair = {rises->places[i], falls->places[k], 0.0};
      const double alike = pair.rise.alike * pair.fall.alike;
      VwSweepFound found = {0};
      if (alike > most && take_pair(&pair, rate_hz, &found)) {
        most = alike;
        *best = pair;
      }
    }
  }
  const bool rise = rises->n && rises->places[0].alike >= ALIKE_ONE;
  const bool fall = falls->n && falls->places[0].alike >= ALIKE_ONE;
  return most > 0.0     ? VW_SWEEP_FOUND
         : rise && fall ? VW_SWEEP_APART
         : rise         ? VW_SWEEP_CUT_END
         : fall         ? VW_SWEEP_CUT_FRONT
                        : VW_SWEEP_NO_MARKS;
}

VwStatus
vw_sweep_find(const VwSound*  recording,
              VwSweepMissing* missing,
              VwSweepFound*   found) {
  const VwSpeaker without_lows = {.corner_hz = MARK_CORNER_HZ};
  VwSound         heard = {0};
  Places          rises = {.n = 0};
  Places          falls = {.n = 0};
  Pair            pair = {.late = 0.0};
  if (vw_sound_peak(recording) < SILENT_PEAK) {
    *missing = VW_SWEEP_SILENT;
    return VW_OK;
  }
  VwStatus st = vw_sound_copy(recording, &heard);
  if (!st) {
    vw_speaker_spare(&without_lows, &heard);
    st = find_mark(&heard, false, &rises);
    st = st ? st : find_mark(&heard, true, &falls);
  }
  if (!st) {
    *missing = best_pair(&rises, &falls, recording->rate_hz, &pair);
  }
  if (!st && *missing == VW_SWEEP_FOUND) {
    st = compare(&heard, pair.rise, pair.fall, &pair.late);
    (void)take_pair(&pair, recording->rate_hz, found);
  }
  vw_sound_clear(&heard);
  return st;
}
