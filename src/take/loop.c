// How many shots a loop holds.

#include "base/ranges.h"
#include "base/units.h"
#include "take/events.h"
#include "take/heard.h"

#include <math.h>
#include <stdlib.h>

// Every figure is chosen here, by loops made of synthetic takes and of
// recordings.

#define SHOTS_MOST VW_CYCLE_SHOTS_MOST
#define RATE_LEAST_PER_S 0.25
#define RATE_MOST_PER_S 50.0

// A level that changes by less holds no shots; nor does one shot rise by less.
#define SHOTS_LEAST_DB 4.0

// The rise of a shot is no later than this, and than that part of the period.
#define LATEST_MS 22.0
#define LATEST_SHARE 0.42

// A loop starts with a shot if a rise of so much is there.
#define STARTS_DB 3.0
#define STARTS_MS 40.0

// A gap shorter than this cannot be told from none.
#define GAP_LEAST_MS 2.2
#define GAP_STEP_MS 0.5

// Less sure than this, the next likely number is named too.
#define SURE 0.9

// Shots that are counted are a loop's if so many of the places rise and so much
// of all rises lies there; or if their level's course has so much in common,
// and each is so much more like the next than its first half is like its
// second. Set between loops of 97 recordings, of which 2 of 414 have less, and
// 98 whole recordings in which shots were counted: all but 7, which repeat.
#define CLEAR_LEAST 0.6
#define COMMON_LEAST 0.45
#define HALVES_LEAST 0.2

/// Shots that follow each other evenly from the loop's start on.
typedef struct {
  size_t shots;
  double period_ms;
  bool   wraps;  ///< The last one's period ends with the loop.
  double likely; ///< Logarithm of how likely it is beside the others.
} Spacing;

/* What speaks for a spacing */

/// The mean of the rises at all places, those half-way between, or all there
/// are.
typedef struct {
  double heard;     ///< Part of the places that rise, by how much.
  double between;   ///< The same half-way between them.
  double explained; ///< Part of all rises that lies at the places.
} Rises;

// A rise of so much is one for certain.
#define RISE_DB 8.0

static Rises
rises_of(const VwHeard* heard, const Spacing* spacing) {
  const double period_ms = spacing->period_ms;
  const double n = (double)spacing->shots;
  Rises        rises = {0.0, 0.0, 0.0};
  double       all = 0.0;
  for (size_t i = 0; i < spacing->shots; ++i) {
    const double at_ms = (double)i * period_ms;
    const double rise =
      vw_heard_rise_db(heard, at_ms, fmin(LATEST_MS, LATEST_SHARE * period_ms));
    const double between =
      vw_heard_rise_db(heard,
                       at_ms + 0.5 * period_ms,
                       fmin(LATEST_MS, 0.5 * LATEST_SHARE * period_ms));
    rises.heard += fmin(rise, RISE_DB) / RISE_DB / n;
    rises.between += fmin(between, RISE_DB) / RISE_DB / n;
    rises.explained += fmin(rise, VW_PEAK_MOST_DB);
  }
  for (size_t i = 0; i < heard->n_peaks; ++i) {
    all += vw_heard_within(heard, &heard->peaks[i])
             ? fmin(heard->peaks[i].rise_db, VW_PEAK_MOST_DB)
             : 0.0;
  }
  rises.explained = all > 0.0 ? fmin(rises.explained / all, 1.2) : 0.0;
  return rises;
}

// The quiet before a shot lies from here to there about its start, and its
// crest in this part of the period.
#define QUIET_FROM_MS (-8.0)
#define QUIET_TO_MS 10.0
#define CREST_SHARE 0.55

/// How much the level rises where a shot starts, of all the least, dB.
static double
least_rise(const VwHeard* heard, const Spacing* spacing) {
  const double latest_ms =
    fmin(LATEST_MS, LATEST_SHARE * spacing->period_ms) + 1.0;
  double least = VW_HEARD_RANGE_DB;
  for (size_t i = 0; i < spacing->shots; ++i) {
    const double at_ms = (double)i * spacing->period_ms;
    const double end_ms = at_ms + CREST_SHARE * spacing->period_ms;
    double       quiet = 0.0;
    double       crest = -VW_HEARD_RANGE_DB;
    for (double t = QUIET_FROM_MS; t <= QUIET_TO_MS && t < latest_ms;
         t += 1.0) {
      quiet = fmin(quiet, vw_heard_level_db(heard, at_ms + t));
    }
    for (double t = at_ms;
         t < end_ms && (spacing->wraps || t < heard->length_ms);
         t += 1.0) {
      crest = fmax(crest, vw_heard_level_db(heard, t));
    }
    least = fmin(least, fmax(crest - quiet, 0.0));
  }
  return least;
}

/// How alike the shots are.
typedef struct {
  double next;    ///< Each and its next, the mean of all.
  double partner; ///< Each and that of the others which is nearest to it.
  double half;    ///< The first half of each and its second.
} Likeness;

static double
alike(const VwHeard* heard, const Spacing* spacing, size_t i, size_t j) {
  const double   period_ms = spacing->period_ms;
  const VwPieces pieces = {
    (double)i * period_ms, (double)j * period_ms, period_ms, spacing->wraps};
  return vw_heard_likeness(heard, &pieces);
}

static double
halves_alike(const VwHeard* heard, const Spacing* spacing) {
  const double half_ms = 0.5 * spacing->period_ms;
  const size_t n = spacing->shots;
  // The last one's second half may lie in the gap.
  const size_t n_heard = spacing->wraps || n < 2U ? n : n - 1U;
  double       sum = 0.0;
  for (size_t i = 0; i < n_heard; ++i) {
    const double   at_ms = (double)i * spacing->period_ms;
    const VwPieces pieces = {at_ms, at_ms + half_ms, half_ms, spacing->wraps};
    sum += vw_heard_likeness(heard, &pieces);
  }
  return sum / (double)n_heard;
}

static Likeness
likeness_of(const VwHeard* heard, const Spacing* spacing) {
  const size_t n = spacing->shots;
  double       best[SHOTS_MOST];
  Likeness     of = {0.0, 0.0, halves_alike(heard, spacing)};
  double       n_next = 1e-9;
  for (size_t i = 0; i < n; ++i) {
    best[i] = n > 1U ? -1.0 : 0.0;
  }
  for (size_t i = 0; i < n; ++i) {
    for (size_t j = i + 1U; j < n; ++j) {
      const double here = alike(heard, spacing, i, j);
      const bool   seam = spacing->wraps && n > 2U && !i && j + 1U == n;
      best[i] = fmax(best[i], here);
      best[j] = fmax(best[j], here);
      of.next += j == i + 1U || seam ? here : 0.0;
      n_next += j == i + 1U || seam ? 1.0 : 0.0;
    }
  }
  for (size_t i = 0; i < n; ++i) {
    of.partner += best[i] / (double)n;
  }
  of.next /= n_next;
  return of;
}

// Farther below the loudest than this is silence in a course.
#define COURSE_DB 24.0

/// What of the level's variance the mean course of all shots explains, 0 to 1.
static double
one_course(const VwHeard* heard, const Spacing* spacing) {
  double all = 0.0, all_sum = 0.0, all_square = 0.0, left = 0.0;
  for (double after_ms = 0.0; after_ms + 2.0 <= spacing->period_ms;
       after_ms += 1.0) {
    double n = 0.0, sum = 0.0, square = 0.0;
    for (size_t i = 0; i < spacing->shots; ++i) {
      const double at_ms = (double)i * spacing->period_ms + after_ms;
      if (spacing->wraps || at_ms < heard->length_ms) {
        const double db = fmax(vw_heard_level_db(heard, at_ms), -COURSE_DB);
        n += 1.0;
        sum += db;
        square += db * db;
      }
    }
    all += n;
    all_sum += sum;
    all_square += square;
    left += square - sum * sum / fmax(n, 1.0);
  }
  const double spread = all_square - all_sum * all_sum / fmax(all, 1.0);
  return spread > 0.0 ? 1.0 - left / spread : 0.0;
}

// The fire rate that is likeliest, and from which on shots fuse (common
// practice).
#define RATE_USUAL_PER_S 8.0
#define RATE_FUSES_PER_S 20.0

/// How likely a spacing is beside the others: what a regression over loops made
/// here gives what speaks for it.
static double
likely(const VwHeard* heard, const Spacing* spacing) {
  const double   rate_per_s = 1e3 / spacing->period_ms;
  const double   usual = log2(rate_per_s / RATE_USUAL_PER_S);
  const double   fuses = fmax(log2(rate_per_s / RATE_FUSES_PER_S), 0.0);
  const double   many = log2((double)spacing->shots);
  const double   least = least_rise(heard, spacing) / VW_PEAK_MOST_DB;
  const Rises    rises = rises_of(heard, spacing);
  const Likeness of = likeness_of(heard, spacing);
  return 3.19 * fmin(least, 1.0) - 3.07 * rises.between +
         9.90 * rises.heard * rises.explained - 1.07 * usual * usual -
         9.12 * fuses * (1.0 - of.next) - 1.78 * of.next +
         3.38 * fmax(of.next, of.partner) * many + 2.02 * many -
         1.27 * many * many + 4.17 * one_course(heard, spacing) * many -
         3.38 * of.half * of.half + (spacing->shots == 1U ? 7.50 : 0.0);
}

/* All spacings */

/// A loop, what is known of it, and all spacings it may have.
typedef struct {
  VwHeard heard;
  double  gap_ms; ///< NaN: not known.
  bool    turned; ///< Heard from its first shot on, and not from its start.
  Spacing spacings[2U * SHOTS_MOST];
  size_t  n;
} Count;

static bool
is_gap_sought(const Count* count) {
  return isnan(count->gap_ms) && !count->turned;
}

static void
add(Count* count, size_t shots, double period_ms, bool wraps) {
  Spacing spacing = {shots, period_ms, wraps, 0.0};
  spacing.likely = likely(&count->heard, &spacing);
  count->spacings[count->n++] = spacing;
}

/// How many of the rises lie whole periods apart.
static double
apart_by(const VwHeard* heard, size_t shots, double period_ms) {
  double sum = 0.0;
  for (size_t i = 1; i < shots; ++i) {
    const double at = (double)i * period_ms;
    const size_t step = (size_t)at;
    if (step + 1U < heard->n_apart) {
      const double next = at - (double)step;
      sum += heard->apart[step] * (1.0 - next) + heard->apart[step + 1U] * next;
    }
  }
  return sum;
}

/// The gap with which most of the rises lie whole periods apart, ms.
static double
gap_found_ms(const VwHeard* heard, size_t shots) {
  const double n = (double)shots;
  double       best = -1.0;
  double       best_ms = 0.0;
  for (double gap_ms = -GAP_LEAST_MS;
       gap_ms <= VW_GAP_FOUND_MOST * (heard->length_ms + gap_ms) / n;
       gap_ms += GAP_STEP_MS) {
    const double here = apart_by(heard, shots, (heard->length_ms + gap_ms) / n);
    best_ms = here > best ? gap_ms : best_ms;
    best = fmax(here, best);
  }
  return shots > 1U && best_ms >= GAP_LEAST_MS ? best_ms : 0.0;
}

/// Add so many shots, evenly in the loop, and evenly in loop and gap.
static void
add_shots(Count* count, size_t shots) {
  const double length_ms = count->heard.length_ms;
  const double gap_ms = is_gap_sought(count)
                          ? gap_found_ms(&count->heard, shots)
                        : count->turned ? 0.0
                                        : count->gap_ms;
  const double period_ms = (length_ms + gap_ms) / (double)shots;
  add(count, shots, length_ms / (double)shots, true);
  if (gap_ms > 0.0 && gap_ms <= VW_GAP_FOUND_MOST * period_ms) {
    add(count, shots, period_ms, false);
  }
}

static void
add_all(Count* count) {
  const double most = RATE_MOST_PER_S * 1e-3 * count->heard.length_ms;
  for (size_t n = 1; n <= SHOTS_MOST && (n == 1U || (double)n <= most); ++n) {
    add_shots(count, n);
  }
}

/// The likeliest, but for those of so many shots; NULL: there is none.
static const Spacing*
likeliest(const Count* count, size_t not_shots) {
  const Spacing* found = NULL;
  for (size_t i = 0; i < count->n; ++i) {
    const Spacing* const spacing = &count->spacings[i];
    if (spacing->shots != not_shots &&
        (!found || spacing->likely > found->likely)) {
      found = spacing;
    }
  }
  return found;
}

/// Another number of shots where the chosen one is not sure; else 0.
static size_t
other_shots(const Count* count, const Spacing* chosen) {
  double all = 0.0;
  double same = 0.0;
  for (size_t i = 0; i < count->n; ++i) {
    const double here = exp(count->spacings[i].likely - chosen->likely);
    all += here;
    same += count->spacings[i].shots == chosen->shots ? here : 0.0;
  }
  return same < SURE * all ? likeliest(count, chosen->shots)->shots : 0U;
}

/// Whether the level changes enough.
static bool
has_shots(const VwHeard* heard) {
  double most = -VW_HEARD_RANGE_DB;
  double least = 0.0;
  for (double at_ms = 0.0; at_ms < heard->length_ms; at_ms += 1.0) {
    most = fmax(most, vw_heard_level_db(heard, at_ms));
    least = fmin(least, vw_heard_level_db(heard, at_ms));
  }
  return most - least >= SHOTS_LEAST_DB;
}

/// Listen from the loop's start on, or from the highest rise where no shot is
/// at its start.
static VwStatus
listen(const VwSound* mono, Count* count) {
  VwHeard* const heard = &count->heard;
  const VwStatus st = vw_heard_take(mono, 0, heard);
  if (st || vw_heard_rise_db(heard, 0.0, STARTS_MS) >= STARTS_DB) {
    return st;
  }
  VwPeak highest = {0.0, 0.0};
  for (size_t i = 0; i < heard->n_peaks; ++i) {
    const VwPeak* const peak = &heard->peaks[i];
    if (vw_heard_within(heard, peak) && peak->rise_db > highest.rise_db) {
      highest = *peak;
    }
  }
  if (highest.rise_db < STARTS_DB) {
    return VW_OK;
  }
  count->turned = true;
  vw_heard_clear(heard);
  return vw_heard_take(
    mono,
    vw_frames_of_s(1e-3 * fmax(highest.at_ms, 0.0), mono->rate_hz),
    heard);
}

// Two shots have the same wave if this part of their periods is so much alike;
// a period that is found is no farther off than that.
#define SAME_SHARE 0.5
#define SAME_WAVE 0.9
#define SAME_NEAR_S 0.003

/// How alike two pieces of a wave are, 1 for the same.
static double
wave_likeness(const float* one, const float* other, size_t n) {
  double product = 0.0;
  double energy = 1e-30;
  for (size_t i = 0; i < n; ++i) {
    const double x = (double)one[i];
    const double y = (double)other[i];
    product += x * y;
    energy += 0.5 * (x * x + y * y);
  }
  return product / energy;
}

/// How many frames a later shot is behind its place by its wave; NaN if it is
/// another.
static double
wave_off(const VwSound* mono, double from, double place, size_t n) {
  const size_t near = vw_frames_of_s(SAME_NEAR_S, mono->rate_hz);
  const size_t start = (size_t)(from + 0.5);
  const size_t about = (size_t)(place + 0.5);
  double       best = SAME_WAVE;
  double       off = (double)NAN;
  for (size_t i = about > near ? about - near : 0U;
       i <= about + near && i + n <= mono->n_frames;
       ++i) {
    const double here =
      wave_likeness(mono->values + start, mono->values + i, n);
    off = here >= best ? (double)i - (double)start - (place - from) : off;
    best = fmax(here, best);
  }
  return off;
}

/// The gap of a loop, to the frame if two of its shots have the same wave: the
/// farther apart these are, the more exact.
static double
exact_gap_ms(const VwSound* mono, const Spacing* spacing) {
  const size_t n = spacing->shots;
  const double period = 1e-3 * spacing->period_ms * mono->rate_hz;
  double       off = (double)NAN;
  for (size_t apart = n - 1U; isnan(off) && apart > 0U; --apart) {
    for (size_t i = 0; isnan(off) && i + apart < n; ++i) {
      off = wave_off(mono,
                     (double)i * period,
                     (double)(i + apart) * period,
                     (size_t)(SAME_SHARE * period)) /
            (double)apart;
    }
  }
  const double exact = (double)n * (period + (isnan(off) ? 0.0 : off));
  return 1e3 * fmax(round(exact - (double)mono->n_frames), 0.0) / mono->rate_hz;
}

/// How sure it is that shots are those of a loop: what of their level's course
/// they have in common, if they are alike, or 1 if they are clear; or else 0.
static double
common_of(const VwHeard* heard, const Spacing* spacing) {
  const Rises    rises = rises_of(heard, spacing);
  const Likeness of = likeness_of(heard, spacing);
  const double   common = one_course(heard, spacing);
  const bool     alike =
    common >= COMMON_LEAST && of.next - of.half >= HALVES_LEAST;
  return spacing->shots == 1U || rises.heard * rises.explained >= CLEAR_LEAST
           ? 1.0
         : alike ? common
                 : 0.0;
}

/// The rate is exact once the number is: the whole cycle in seconds first.
static VwStatus
choose(const Count*   count,
       const VwSound* mono,
       bool           known,
       VwRateFound*   found) {
  const Spacing* const chosen = likeliest(count, 0U);
  VwRateFound          out = {.shots = chosen->shots,
                              .common = common_of(&count->heard, chosen)};
  if (!known && (out.common <= 0.0 ||
                 (chosen->shots == 1U &&
                  least_rise(&count->heard, chosen) < SHOTS_LEAST_DB))) {
    return VW_NO_STEADY_RATE;
  }
  out.gap_ms = count->gap_ms;
  if (isnan(out.gap_ms)) {
    out.gap_ms = chosen->wraps ? 0.0 : exact_gap_ms(mono, chosen);
  }
  out.uneven = chosen->wraps && out.gap_ms > 0.0;
  out.other_shots = known ? 0U : other_shots(count, chosen);
  out.fire_rate_per_s =
    (double)chosen->shots * (double)mono->rate_hz /
    ((double)mono->n_frames + out.gap_ms / 1000.0 * mono->rate_hz);
  if (out.fire_rate_per_s < RATE_LEAST_PER_S) {
    return VW_NO_STEADY_RATE;
  }
  *found = out;
  return VW_OK;
}

VwStatus
vw_loop_count(const VwSound*     mono,
              const VwLoopKnown* known,
              VwRateFound*       found) {
  Count* const count = calloc(1U, sizeof(Count));
  VwStatus     st = count ? listen(mono, count) : VW_NO_MEMORY;
  st = st || has_shots(&count->heard) ? st : VW_NO_STEADY_RATE;
  if (!st) {
    count->gap_ms = known->gap_ms;
    st = is_gap_sought(count) ? vw_heard_take_apart(&count->heard) : VW_OK;
  }
  if (!st) {
    if (known->shots) {
      add_shots(count, known->shots);
    } else {
      add_all(count);
    }
    st = choose(count, mono, known->shots > 0U, found);
  }
  if (count) {
    vw_heard_clear(&count->heard);
  }
  free(count);
  return st;
}
