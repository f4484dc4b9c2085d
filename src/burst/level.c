#include "base/units.h"
#include "burst/burst.h"
#include "burst/internal.h"
#include "signal/signal.h"

#include <math.h>

// The loudness is met to this.
#define CLOSE_LU 0.02
#define STEPS_MOST 12

// A gain is met though the peak is higher by so much than where it was found:
// tails are bent to a valley within 0.05 dB.
#define SLACK_DB 0.05

// A line through points so near to each other is within 0.02 LU of the curve.
#define CURVE_STEP_DB 0.5
#define ROUNDING 1e-9

// Eight times oversampling misses 0.14 dB of a peak at 0.45 of the sample rate
// (Rec. ITU-R BS.1770-5, attachment 1 to annex 2), and a gain that moves makes
// new peaks between frames: 0.14 dB at 4 kHz with 3 dB of limiting, 0.32 dB
// with 12 (measured on noise and tones).
#define UNSEEN_DB 0.1
#define UNSEEN_PER_DB 0.03
#define UNSEEN_FROM_DB 3.0

// Dither of 1 LSB and rounding by half of one, of 128 to full scale.
#define ROUNDING_8_BIT (1.5 / 128.0)

VwLevelOptions
vw_level_defaults(void) {
  return (VwLevelOptions){.aim = VW_AIM_LOUDEST,
                          .ceiling_dbtp = -1.0,
                          .limiting_max_db = NAN,
                          .loud_as = VW_LOUD_AS_SHOT};
}

double
vw_level_ceiling(const VwLevelOptions* options, VwEncoding encoding) {
  const double more_db = fmax(options->limiting_max_db - UNSEEN_FROM_DB, 0.0);
  const double unseen_db = UNSEEN_DB + UNSEEN_PER_DB * more_db;
  const double ceiling = vw_gain_of_db(options->ceiling_dbtp - unseen_db);
  return encoding == VW_ENCODING_U8 ? ceiling - ROUNDING_8_BIT : ceiling;
}

/// The search for a gain.
typedef struct {
  const VwLevelSounds* sounds;
  VwLoudAs             loud_as;
  double               ceiling;
} Search;

VwStatus
vw_level_of_steady(const VwLevelSounds* sounds,
                   const VwSound*       burst,
                   double*              lufs) {
  const size_t n_closed = sounds->n_closed;
  VwSound      heard = {0};
  VwStatus st = vw_sound_part(burst, sounds->steady, sounds->n_steady, &heard);
  for (size_t at = 0; !st && n_closed && at < heard.n_frames; at += n_closed) {
    VwSound cycle = heard;
    cycle.values += at * heard.n_channels;
    cycle.n_frames = n_closed;
    vw_burst_close_cycle(&cycle, sounds->n_gap);
  }
  st = st ? st : vw_loudness_of_effect(&heard, lufs);
  vw_sound_clear(&heard);
  return st;
}

/// Loudness of a single shot, or of the burst, at a gain and limited.
static VwStatus
loudness_at(const Search*  search,
            const VwSound* sound,
            double         gain_db,
            double*        lufs) {
  VwSound   played = {0};
  VwLimited limited;
  VwStatus  st = vw_sound_copy(sound, &played);
  if (st) {
    return st;
  }
  vw_sound_scale(&played, vw_gain_of_db(gain_db));
  st = vw_limiter_run(search->ceiling, &played, &limited);
  if (!st) {
    st = sound == search->sounds->burst
           ? vw_level_of_steady(search->sounds, &played, lufs)
           : vw_loudness_of_effect(&played, lufs);
  }
  vw_sound_clear(&played);
  return st;
}

/// Loudness of what is to be brought to the target: the loudest of the shots,
/// or the steady burst.
static VwStatus
loudness_of_family(const Search* search, double gain_db, double* lufs) {
  const VwLevelSounds* const sounds = search->sounds;
  if (search->loud_as == VW_LOUD_AS_BURST && sounds->burst) {
    return loudness_at(search, sounds->burst, gain_db, lufs);
  }
  double   loudest = NAN;
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < sounds->n_alone; ++i) {
    double one = NAN;
    st = loudness_at(search, &sounds->alone[i], gain_db, &one);
    loudest = fmax(loudest, one);
  }
  *lufs = loudest;
  return st;
}

/// The gain at which the limited family has the target's loudness.
static VwStatus
gain_for(const Search* search,
         double        target_lufs,
         double        start_db,
         double*       gain_db) {
  double   lufs = NAN;
  double   gain = start_db;
  double   last_gain = start_db - 1.0;
  double   last_lufs = NAN;
  VwStatus st = loudness_of_family(search, last_gain, &last_lufs);
  for (int i = 0; !st && i < STEPS_MOST; ++i) {
    st = loudness_of_family(search, gain, &lufs);
    if (st || fabs(lufs - target_lufs) < CLOSE_LU) {
      break;
    }
    const double rise = (lufs - last_lufs) / (gain - last_gain);
    last_gain = gain;
    last_lufs = lufs;
    // A limiter flattens the rise; it never turns it round.
    gain += fmin(fmax((target_lufs - lufs) / fmax(rise, 0.2), -40.0), 40.0);
  }
  *gain_db = gain;
  return st;
}

/// The true peak of a sound, or `least` where that is higher.
static double
higher_peak(const VwSound* sound, double least) {
  const double from = fmax(least, vw_sound_peak(sound)) / 2.0;
  return fmax(least, vw_peak_find(sound, from, NULL));
}

VwStatus
vw_level_wish(const VwLevelSounds*  sounds,
              const VwLevelOptions* options,
              VwLevelWish*          wish) {
  Search      search = {sounds, options->loud_as, HUGE_VAL};
  VwLevelWish out = *wish;
  out.gain_db = HUGE_VAL;
  out.peak = 0.0;
  VwStatus st = loudness_of_family(&search, 0.0, &out.before_lufs);
  for (size_t i = 0; i < sounds->n_alone; ++i) {
    out.peak = higher_peak(&sounds->alone[i], out.peak);
  }
  if (st || !isfinite(out.before_lufs)) {
    return st ? st : VW_SILENT;
  }
  search.ceiling = out.ceiling;
  if (options->aim == VW_AIM_LOUDNESS) {
    st = gain_for(&search,
                  options->loudness_lufs,
                  options->loudness_lufs - out.before_lufs,
                  &out.gain_db);
  } else if (options->aim != VW_AIM_LOUDEST) {
    out.gain_db = options->aim == VW_AIM_KEEP ? 0.0 : options->gain_db;
  }
  if (!st) {
    *wish = out;
  }
  return st;
}

double
vw_level_limiting_most(const VwLevelOptions* options, bool tones) {
  return options->aim == VW_AIM_KEEP        ? 0.0
         : !isnan(options->limiting_max_db) ? options->limiting_max_db
         : tones                            ? 0.0
                                            : VW_LIMITING_USUAL_DB;
}

void
vw_level_settle(const VwLevelSounds*  sounds,
                const VwLevelOptions* options,
                const VwLevelWish*    wish,
                VwLevel*              level) {
  const double peak =
    sounds->burst ? higher_peak(sounds->burst, wish->peak) : wish->peak;
  // What the limiter takes at a gain is what the peak then exceeds.
  const double unlimited_db = vw_db_of_power(pow(wish->ceiling / peak, 2.0));
  const double loudest_db = unlimited_db + wish->limiting_max_db;
  const double wished_db =
    wish->gain_db == HUGE_VAL ? loudest_db : wish->gain_db;
  const bool aimed = options->aim == VW_AIM_LOUDNESS;
  const bool reached =
    wished_db <= loudest_db + (options->aim == VW_AIM_GAIN ? SLACK_DB : 0.0);
  *level =
    (VwLevel){.before_lufs = wish->before_lufs,
              .target_lufs = aimed ? options->loudness_lufs : (double)NAN,
              .burst_loudness_lufs = NAN,
              .gain_db = reached ? wished_db : loudest_db,
              .reached = reached,
              .limiting_max_db = wish->limiting_max_db,
              .limiting_needed_db = fmax(wished_db - unlimited_db, 0.0)};
}

void
vw_level_curve_begin(const VwLevel* first,
                     double         most_db,
                     VwLevelCurve*  curve) {
  const double first_db = first->gain_db - first->limiting_needed_db;
  const double limiting_db = fmax(most_db - first_db, 0.0);
  const double n_steps =
    fmin(ceil(limiting_db / CURVE_STEP_DB - ROUNDING), VW_LEVEL_STEPS);
  curve->n = (size_t)n_steps + 1U;
  curve->gain_db[0] = first_db;
  curve->lufs[0] = first->before_lufs + first_db; // nothing is limited there
  for (size_t i = 1; i < curve->n; ++i) {
    curve->gain_db[i] = first_db + limiting_db * (double)i / n_steps;
  }
}

VwStatus
vw_level_curve_measure(const VwLevelSounds*  sounds,
                       const VwLevelOptions* options,
                       VwLevelCurve*         curve,
                       size_t                point) {
  const Search   search = {sounds, options->loud_as, curve->ceiling};
  double* const  lufs = &curve->lufs[point];
  const VwStatus st = loudness_of_family(&search, curve->gain_db[point], lufs);
  // A gain that makes nothing louder is of no use.
  *lufs = fmax(*lufs, curve->lufs[point - 1U]);
  return st;
}

/// The value at `x` of the line through points; beyond them as steep as 1.
static double
value_at(const double* xs, const double* ys, size_t n, double x) {
  size_t i = 0;
  while (i < n && xs[i] < x) {
    ++i;
  }
  if (i == 0U) {
    return ys[0] + (x - xs[0]);
  }
  if (i == n) {
    return ys[n - 1U] + (x - xs[n - 1U]);
  }
  const double part = (x - xs[i - 1U]) / (xs[i] - xs[i - 1U]);
  return ys[i - 1U] + part * (ys[i] - ys[i - 1U]);
}

double
vw_level_curve_lufs(const VwLevelCurve* curve, double gain_db) {
  return value_at(curve->gain_db, curve->lufs, curve->n, gain_db);
}

double
vw_level_curve_gain(const VwLevelCurve* curve, double lufs) {
  return value_at(curve->lufs, curve->gain_db, curve->n, lufs);
}

void
vw_level_note(VwLevel* level, const VwLimited* limited) {
  level->limiting_db = fmax(level->limiting_db, limited->most_db);
  level->limiting_ms = fmax(level->limiting_ms, limited->time_ms);
  level->limiting_share = fmax(level->limiting_share, limited->share);
}
