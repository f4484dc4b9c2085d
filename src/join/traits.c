// What a join that was found is like.

#include "join/search.h"

#include "base/line.h"
#include "base/units.h"
#include "signal/signal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>

// Means of octaves so near to each other are of one noise (chosen here).
#define NOISE_DB 3.0

// A partial stands so far above what is so near to it on both sides, in windows
// so long; what has so much of its power in them is no noise (chosen here).
#define PARTIAL_S 0.2
#define PARTIAL_DB 13.0
#define BESIDE_FROM 5U
#define BESIDE 10U
#define PARTIALS_SHARE 0.25

// A crossfade as long as the loop evens out smaller trends by itself, and beats
// of tones look like them.
#define TREND_LEAST_DB 0.3

// So much power in them leaves no noise that would hide what a limiter makes of
// them (chosen here).
#define TONES_SHARE 0.99

// A level that changes by more than this over a loop takes its spectrum along
// (chosen here).
#define CHANGE_MOST_DB 1.5

// What is drawn at a lag is the best within so long of it, so that the course
// is seen, and not each turn of a tone above 50 Hz.
#define DRAWN_S 0.01

// Pitches that are looked at, what part has to have one, and a glide that is
// heard as such: a just noticeable difference of 5 cents four times (chosen
// here).
#define PITCHES 24U
#define PITCHED 0.6
#define GLIDE_CENTS 20.0

VwJoin
vw_join_of(const VwJoinSearch* search, const VwJoinTried* loop) {
  VwJoin       join = {.start_frame = loop->at,
                       .n_frames = loop->n,
                       .blend_frames = loop->n_blend,
                       .likeness = loop->likeness,
                       .glide_cents_per_s = NAN};
  const double trend_db = vw_join_trend_db(search->sound, &join);
  join.trend_db = fabs(trend_db) < TREND_LEAST_DB ? 0.0 : trend_db;
  return join;
}

/// How far the mean spectra of both ends are apart.
static double
spectra_apart_db(const VwJoinSearch* search, const VwJoinTried* loop) {
  const VwTexture* const texture = &search->texture;
  const size_t           n = loop->n_blend / texture->n_step + 1U;
  const size_t           from = (loop->at - loop->n_blend) / texture->n_step;
  const size_t           to = from + loop->n / texture->n_step;
  double                 squares = 0.0;
  for (size_t k = 0; k < VW_TEXTURE_BANDS; ++k) {
    double difference = 0.0;
    for (size_t i = 0; i < n && to + i < texture->n; ++i) {
      difference +=
        (double)texture->band_db[(from + i) * VW_TEXTURE_BANDS + k] -
        (double)texture->band_db[(to + i) * VW_TEXTURE_BANDS + k];
    }
    squares += difference * difference / (double)(n * n);
  }
  return sqrt(squares / VW_TEXTURE_BANDS);
}

/// The power in the middle of some lines.
static double
median_of(const double* powers) {
  double sorted[BESIDE];
  for (size_t i = 0; i < BESIDE; ++i) {
    sorted[i] = powers[i];
  }
  qsort(sorted, BESIDE, sizeof(double), vw_compare_doubles);
  return sorted[BESIDE / 2U];
}

/// What part of the power stands in lines far above both sides.
static double
share_of_partials(const double* powers, size_t n) {
  const size_t reach = BESIDE_FROM + BESIDE;
  double       all = 0.0;
  double       lines = 0.0;
  for (size_t i = 1; i < n; ++i) {
    all += powers[i];
  }
  for (size_t i = BESIDE_FROM; i + reach < n; ++i) {
    const double above = median_of(powers + i + BESIDE_FROM);
    const double below = i >= reach ? median_of(powers + i - reach) : above;
    lines += powers[i] > fmax(above, below) * vw_power_of_db(PARTIAL_DB)
               ? powers[i]
               : 0.0;
  }
  return all > 0.0 ? lines / all : 0.0;
}

/// What part of the stretch's power stands in lines.
static VwStatus
find_partials(const VwJoinSearch* search, double* share) {
  const size_t n_window =
    vw_frames_of_s(PARTIAL_S, (double)search->sound->rate_hz);
  size_t          n = 0;
  VwPowers* const powers = vw_powers_new(n_window, &n);
  double* const   sums = powers ? calloc(n, sizeof(double)) : NULL;
  for (size_t at = search->from; sums && at + n_window <= search->to;
       at += n_window / 2U) {
    vw_powers_add(powers, search->sound, at + n_window / 2U, sums);
  }
  *share = sums ? share_of_partials(sums, n) : 0.0;
  free(sums);
  vw_powers_free(powers);
  return sums ? VW_OK : VW_NO_MEMORY;
}

/// By how much the level of the stretch falls, dB per second.
static double
falls_db_per_s(const VwJoinSearch* search) {
  const VwTexture* const texture = &search->texture;
  const double           step_s =
    (double)texture->n_step / (double)search->sound->rate_hz;
  VwLine line = {0};
  for (size_t i = search->from / texture->n_step;
       i < search->to / texture->n_step;
       ++i) {
    double power = 0.0;
    for (size_t k = 0; k < VW_TEXTURE_BANDS; ++k) {
      power +=
        vw_power_of_db((double)texture->band_db[i * VW_TEXTURE_BANDS + k]);
    }
    vw_line_add(&line, (double)i * step_s, vw_db_of_power(power));
  }
  return line.n > 2.0 ? -vw_line_slope(&line) : 0.0;
}

/// By how much the pitch of the stretch glides; NaN if it does not.
static VwStatus
find_glide(const VwJoinSearch* search, double* cents_per_s) {
  const VwStretch stretch = {search->from, search->to, PITCHES};
  const double    length_s =
    (double)(search->to - search->from) / (double)search->sound->rate_hz;
  float          pitch_hz[PITCHES];
  VwLine         line = {0};
  const VwStatus st = vw_pitch_follow(search->sound, &stretch, pitch_hz);
  for (size_t i = 0; !st && i < PITCHES; ++i) {
    if (!isnan(pitch_hz[i])) {
      vw_line_add(&line,
                  (double)i * length_s / PITCHES,
                  1200.0 * log2((double)pitch_hz[i]));
    }
  }
  if (!st && line.n >= PITCHED * PITCHES) {
    const double slope = vw_line_slope(&line);
    const double glide = fabs(slope) * length_s;
    if (glide > GLIDE_CENTS &&
        glide > 3.0 * sqrt(vw_line_stray(&line) / line.n)) {
      *cents_per_s = slope;
    }
  }
  return st;
}

static void
draw_over_lag(const VwJoinSearch* search, VwJoin* join) {
  const size_t n = search->high - search->low + 1U;
  const double rate_hz = (double)search->sound->rate_hz;
  const size_t about = vw_frames_of_s(DRAWN_S, rate_hz);
  join->lag_from_s = (double)search->low / rate_hz;
  join->lag_to_s = (double)search->high / rate_hz;
  for (size_t i = 0; i < VW_JOIN_POINTS; ++i) {
    const size_t middle = (2U * i + 1U) * n / (2U * VW_JOIN_POINTS);
    const size_t half = n / VW_JOIN_POINTS / 2U + about;
    const size_t from = middle > half ? middle - half : 0U;
    const size_t to = middle + half < n ? middle + half + 1U : n;
    double       most = search->over_lag[from];
    for (size_t k = from; k < to; ++k) {
      most = fmax(most, search->over_lag[k]);
    }
    join->over_lag[i] = (float)most;
  }
}

VwStatus
vw_join_describe(const VwJoinSearch* search,
                 const VwJoinTried*  loop,
                 VwJoin*             join) {
  VwJoin out = vw_join_of(search, loop);
  out.steady_from = join->steady_from;
  out.steady_to = join->steady_to;
  out.apart_db = spectra_apart_db(search, loop);
  out.falls_db_per_s = falls_db_per_s(search);
  VwStatus st = find_partials(search, &out.tones);
  st = st ? st : find_glide(search, &out.glide_cents_per_s);
  const bool noise = out.apart_db <= NOISE_DB && out.tones < PARTIALS_SHARE &&
                     isnan(out.glide_cents_per_s);
  out.kind = out.likeness >= VW_JOIN_ALIKE ? VW_JOIN_REPEATS
             : noise                       ? VW_JOIN_NOISE
                                           : VW_JOIN_NOTHING;
  st = st ? st : vw_join_level_db(search->sound, &out, &out.level_db);
  if (!st) {
    draw_over_lag(search, &out);
    *join = out;
  }
  return st;
}

bool
vw_join_is_tones(const VwJoin* join) {
  return join->kind == VW_JOIN_REPEATS && join->tones >= TONES_SHARE;
}

bool
vw_join_changes(const VwJoin* join, double rate_hz) {
  const double loop_s = (double)join->n_frames / rate_hz;
  return fabs(join->falls_db_per_s * loop_s) > CHANGE_MOST_DB;
}

const char*
vw_join_kind_name(VwJoinKind kind) {
  static const char* const names[] = {[VW_JOIN_REPEATS] = "repeats",
                                      [VW_JOIN_NOISE] = "noise-like",
                                      [VW_JOIN_NOTHING] = "nothing repeats",
                                      [VW_JOIN_SHOTS] = "between shots"};
  return names[kind];
}
