// What a phone and a room do to what is heard.

#include "base/units.h"
#include "gauge/board/internal.h"

#include <math.h>
#include <stdlib.h>

// Noise is taken in steps of 5 ms. Between marks it is the lowest fifth: the
// rest are marks and their echoes. Without marks are steps so far from all.
#define STEP_S 0.005
#define BETWEEN_SHARE 0.2
#define WITHOUT_S 0.25

// Nothing is heard above the marks if so little of the recording's rate is.
#define HIGH_PART 0.42

// What stands for nothing at all.
#define NOTHING_DB (-60.0)

// Telephones have nothing above 3.4 kHz (ITU-T G.712; from memory).
#define TELEPHONE_HZ 3700.0

/// Levels of steps.
typedef struct {
  double* power;  ///< Owned.
  bool*   sounds; ///< A play lies over the step. Owned.
  bool*   quiet;  ///< None is near. Owned.
  double* sorted; ///< Room. Owned.
  size_t  n;
} Levels;

static void
levels_clear(Levels* levels) {
  free(levels->power);
  free(levels->sounds);
  free(levels->quiet);
  free(levels->sorted);
}

/// Whether a step is within a play, and far from all.
static void
lay_plays(const VwPattern* pattern, const VwPlays* plays, Levels* levels) {
  const size_t last = pattern->n_pieces - 1U;
  for (size_t i = 0; i < levels->n; ++i) {
    const double at_s = (double)i * STEP_S;
    levels->quiet[i] = true;
    for (size_t p = 0; p < plays->n; ++p) {
      const double start_s = plays->plays[p].start_s;
      const double end_s = start_s + plays->ratio * pattern->length_s;
      levels->sounds[i] =
        levels->sounds[i] ||
        (at_s >= start_s && at_s < end_s && plays->plays[p].pieces[last].there);
      levels->quiet[i] = levels->quiet[i] && (at_s + WITHOUT_S < start_s ||
                                              at_s > end_s + WITHOUT_S);
    }
  }
}

static VwStatus
levels_take(const VwSound* sound, Levels* levels) {
  const size_t n_step = vw_frames_of_s(STEP_S, sound->rate_hz);
  levels->n = sound->n_frames / n_step;
  levels->power = calloc(levels->n + 1U, sizeof(double));
  levels->sounds = calloc(levels->n + 1U, sizeof(bool));
  levels->quiet = calloc(levels->n + 1U, sizeof(bool));
  levels->sorted = calloc(levels->n + 1U, sizeof(double));
  if (!levels->power || !levels->sounds || !levels->quiet || !levels->sorted) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < levels->n; ++i) {
    for (size_t k = 0; k < n_step; ++k) {
      levels->power[i] +=
        vw_sound_power_at(sound, i * n_step + k) / (double)n_step;
    }
  }
  return VW_OK;
}

/// A percentile of the steps that are so; NaN without any.
static double
percentile(Levels* levels, const bool* which, double share) {
  size_t n = 0;
  for (size_t i = 0; i < levels->n; ++i) {
    if (which[i]) {
      levels->sorted[n++] = levels->power[i];
    }
  }
  qsort(levels->sorted, n, sizeof(double), vw_compare_doubles);
  return n ? fmax(levels->sorted[(size_t)(share * (double)(n - 1U))], 1e-14)
           : NAN;
}

/// The power of all marks that fit.
static double
power_of_marks(const VwSound*   sound,
               const VwPattern* pattern,
               const VwPlays*   plays) {
  const size_t n_mark = vw_frames_of_s(pattern->piece_s, sound->rate_hz);
  double       sum = 0.0;
  size_t       n = 0;
  for (size_t p = 0; p < plays->n; ++p) {
    for (size_t i = 0; i < pattern->n_pieces; ++i) {
      const VwPieceHeard* const piece = &plays->plays[p].pieces[i];
      const size_t from = vw_frames_of_s(piece->heard.time_s, sound->rate_hz);
      for (size_t k = from; piece->fits && k < from + n_mark; ++k, ++n) {
        sum += k < sound->n_frames ? vw_sound_power_at(sound, k) : 0.0;
      }
    }
  }
  return n ? sum / (double)n : NAN;
}

/// How far the heights of the marks that fit differ.
static VwStatus
find_level(const VwPattern* pattern,
           const VwPlays*   plays,
           VwGaugeSigns*    signs) {
  double* const heights =
    calloc(plays->n * pattern->n_pieces + 1U, sizeof(double));
  size_t n = 0;
  for (size_t p = 0; heights && p < plays->n; ++p) {
    // What is cut is lower for that.
    const bool whole = plays->plays[p].pieces[pattern->n_pieces - 1U].there;
    for (size_t i = 0; whole && i < pattern->n_pieces; ++i) {
      if (plays->plays[p].pieces[i].fits) {
        heights[n++] = plays->plays[p].pieces[i].heard.height;
      }
    }
  }
  if (n) {
    qsort(heights, n, sizeof(double), vw_compare_doubles);
    const double low = heights[(size_t)(0.05 * (double)(n - 1U))];
    const double high = heights[(size_t)(0.95 * (double)(n - 1U))];
    signs->level_db = 2.0 * vw_db_of_power(high / low);
  }
  free(heights);
  return heights ? VW_OK : VW_NO_MEMORY;
}

/// Power of the pauses and between the marks of plays.
typedef struct {
  double quiet;
  double between;
} Noise;

static VwStatus
noise_of(const VwSound*   sound,
         const VwPattern* pattern,
         const VwPlays*   plays,
         Noise*           noise) {
  Levels         levels = {0};
  const VwStatus st = levels_take(sound, &levels);
  if (!st) {
    lay_plays(pattern, plays, &levels);
    *noise = (Noise){percentile(&levels, levels.quiet, 0.5),
                     percentile(&levels, levels.sounds, BETWEEN_SHARE)};
  }
  levels_clear(&levels);
  return st;
}

VwStatus
vw_signs_find(const VwListening* listening,
              const VwPattern*   pattern,
              const VwPlays*     plays,
              double             above_hz,
              VwGaugeSigns*      signs) {
  const VwSound* const sound = &listening->sound;
  const double         marks = power_of_marks(sound, pattern, plays);
  VwSound              high = {0};
  Noise                noise = {NAN, NAN};
  VwStatus             st = find_level(pattern, plays, signs);
  st = st ? st : noise_of(sound, pattern, plays, &noise);
  signs->noise_db = vw_db_of_power(noise.quiet / marks);
  signs->echo_ms = plays->echo_s > 0.0 ? 1000.0 * plays->echo_s : NAN;
  signs->echo_db =
    plays->echo_s > 0.0 ? 2.0 * vw_db_of_power(plays->echo_height) : NAN;
  if (!st && above_hz < HIGH_PART * sound->rate_hz) {
    st = vw_listen_above(listening, above_hz, &high);
    st = st ? st : noise_of(&high, pattern, plays, &noise);
    signs->noise_moves_db = vw_db_of_power(noise.quiet / noise.between);
    vw_sound_clear(&high);
  }
  signs->above_db = NOTHING_DB;
  if (!st && TELEPHONE_HZ < HIGH_PART * sound->rate_hz) {
    st = vw_listen_above(listening, TELEPHONE_HZ, &high);
    if (!st) {
      signs->above_db =
        vw_db_of_power(power_of_marks(&high, pattern, plays) / marks);
    }
    vw_sound_clear(&high);
  }
  return st;
}
