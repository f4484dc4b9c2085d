// What is heard of a switch: short steps of the level, above all marks.

#include "base/units.h"
#include "gauge/board/internal.h"

#include <math.h>
#include <stdlib.h>

// Levels are taken over half a millisecond, and compared with the mean of what
// lies 3 to 25 ms before: a switch bounces for less (common practice).
#define STEP_S 0.0005
#define BEFORE_STEPS 50U
#define BESIDE_STEPS 6U

// What a click stands out by, of what is before it and of the noise (chosen
// here: noise alone does by 8 dB).
#define CLICK_DB 12.0

// What comes 8 to 20 ms after it is so much softer, in the mean; what packing
// smears in front of it is by this.
#define AFTER_FROM 16U
#define AFTER_TO 40U
#define SHORT_DB 8.0
#define NEARLY_DB 8.0
#define EARLY_DB 13.0

// Of a click this much below the loudest nothing is made.
#define CLICK_SOFT_DB 40.0

// Nothing is heard above the marks if so little of the recording's rate is.
#define HIGH_PART 0.42

/// Powers of a sound in steps.
typedef struct {
  double* power; ///< Owned.
  size_t  n;
  size_t  n_step;
} Steps;

static VwStatus
take_steps(const VwSound* sound, Steps* steps) {
  steps->n_step = vw_frames_of_s(STEP_S, sound->rate_hz);
  steps->n = sound->n_frames / steps->n_step;
  steps->power = calloc(steps->n + 1U, sizeof(double));
  for (size_t i = 0; steps->power && i < steps->n; ++i) {
    for (size_t k = 0; k < steps->n_step; ++k) {
      steps->power[i] +=
        vw_sound_power_at(sound, i * steps->n_step + k) / (double)steps->n_step;
    }
  }
  return steps->power ? VW_OK : VW_NO_MEMORY;
}

/// The median of all steps: of noise, since little else is heard up here.
static double
median_of(const Steps* steps) {
  double* const sorted = calloc(steps->n + 1U, sizeof(double));
  double        median = -1.0;
  if (sorted) {
    for (size_t i = 0; i < steps->n; ++i) {
      sorted[i] = steps->power[i];
    }
    qsort(sorted, steps->n, sizeof(double), vw_compare_doubles);
    median = sorted[steps->n / 2U];
  }
  free(sorted);
  return median;
}

/// The frame from which on a step rises to half of its height.
static double
start_of(const VwSound* sound, size_t from, size_t n) {
  double peak = 0.0;
  size_t at = from;
  for (size_t i = from; i < from + n && i < sound->n_frames; ++i) {
    peak = fmax(peak, vw_sound_height(sound, i));
  }
  while (vw_sound_height(sound, at) < 0.5 * peak) {
    ++at;
  }
  return (double)at / sound->rate_hz;
}

/// Whether what peaks in a step falls at once: a mark that is clipped goes on.
static bool
is_short(const Steps* steps, size_t peak) {
  double after = 0.0;
  size_t n = 0;
  for (size_t i = peak + AFTER_FROM; i < peak + AFTER_TO && i < steps->n; ++i) {
    after += steps->power[i];
    ++n;
  }
  return after <= (double)n * steps->power[peak] * vw_power_of_db(-SHORT_DB);
}

static double
mean_before(const Steps* steps, size_t at) {
  double before = 0.0;
  for (size_t k = at - BEFORE_STEPS; k + BESIDE_STEPS < at; ++k) {
    before += steps->power[k] / (double)(BEFORE_STEPS - BESIDE_STEPS);
  }
  return before;
}

/// The step that is loudest of those after one.
static size_t
loudest_of(const Steps* steps, size_t from, size_t n) {
  size_t loudest = from;
  for (size_t i = from; i < from + n && i < steps->n; ++i) {
    loudest = steps->power[i] > steps->power[loudest] ? i : loudest;
  }
  return loudest;
}

/// The first of them that is at most so much softer.
static size_t
first_of(const Steps* steps, size_t from, size_t loudest, double below_db) {
  const double least = steps->power[loudest] * vw_power_of_db(-below_db);
  while (from < loudest && steps->power[from] < least) {
    ++from;
  }
  return from;
}

static void
find(const VwSound* sound, const Steps* steps, double noise, VwClicks* clicks) {
  const double ratio = vw_power_of_db(CLICK_DB);
  for (size_t i = BEFORE_STEPS; i < steps->n; ++i) {
    if (steps->power[i] <= ratio * fmax(mean_before(steps, i), noise)) {
      continue;
    }
    const size_t loudest = loudest_of(steps, i, AFTER_TO);
    const size_t first = first_of(steps, i, loudest, NEARLY_DB);
    const size_t before = first_of(steps, i, loudest, EARLY_DB);
    if (is_short(steps, loudest) && clicks->n < VW_CLICKS_MOST) {
      const size_t from = (first ? first - 1U : 0U) * steps->n_step;
      clicks->clicks[clicks->n++] =
        (VwClick){start_of(sound, from, 3U * steps->n_step),
                  vw_db_of_power(steps->power[loudest]),
                  (double)(first - before) * STEP_S};
      i = loudest + BEFORE_STEPS / 2U;
    }
  }
}

/// Leave out what is far softer than the loudest.
static void
drop_soft(VwClicks* clicks) {
  double loudest = -INFINITY;
  size_t n = 0;
  for (size_t i = 0; i < clicks->n; ++i) {
    loudest = fmax(loudest, clicks->clicks[i].level_db);
  }
  for (size_t i = 0; i < clicks->n; ++i) {
    if (clicks->clicks[i].level_db > loudest - CLICK_SOFT_DB) {
      clicks->clicks[n++] = clicks->clicks[i];
    }
  }
  clicks->n = n;
}

VwStatus
vw_clicks_find(const VwListening* listening,
               double             above_hz,
               VwClicks*          clicks) {
  VwSound high = {0};
  Steps   steps = {0};
  *clicks = (VwClicks){.deaf = above_hz > HIGH_PART * listening->sound.rate_hz};
  if (clicks->deaf) {
    return VW_OK;
  }
  VwStatus st = vw_listen_above(listening, above_hz, &high);
  st = st ? st : take_steps(&high, &steps);
  const double noise = st ? -1.0 : median_of(&steps);
  st = st ? st : noise < 0.0 ? VW_NO_MEMORY : VW_OK;
  if (!st) {
    find(&high, &steps, fmax(noise, 1e-14), clicks);
    drop_soft(clicks);
  }
  free(steps.power);
  vw_sound_clear(&high);
  return st;
}
