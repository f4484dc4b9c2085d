// Loops of sounds that sound on: the spectrum and the level of what repeats,
// and that run-in, loops and ring-out are one sound. Figures are those of this
// project, measured by the tests' own means.

#include "join/join.h"
#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/recordings.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

// With this in the environment the sweeps are whole: 100 pitches, 50 noises.
#define WHOLE "VOLLEYWEAVE_WHOLE_SWEEPS"

static size_t
sweep(size_t brief, size_t whole) {
  return getenv(WHOLE) ? whole : brief;
}

/// Neighbouring seeds would give one stream, shifted.
static SignalRandom
stream(size_t index) {
  return signal_random(1000000U * (uint64_t)index);
}

/// Options that leave the level alone.
static VwFamilyOptions
plain_options(double cycle_max_s) {
  VwFamilyOptions options = made_options();
  options.cycle_max_s = cycle_max_s;
  options.level.aim = VW_AIM_KEEP;
  options.level.ceiling_dbtp = 0.0;
  return options;
}

/// Make the family of a sound that is taken for one of a kind.
static VwStatus
try_kind(const VwSound*         raw,
         VwKind                 kind,
         const VwFamilyOptions* options,
         Made*                  made) {
  memset(made, 0, sizeof(*made));
  const VwStatus st = vw_take_prepare(raw, &made->take);
  made->facts = vw_facts_of_whole(&made->take);
  made->facts.kind = kind;
  return st ? st
            : vw_family_make(
                &made->take, &made->facts, 1U, options, &made->family);
}

static bool
join_kind(const VwSound*         raw,
          VwKind                 kind,
          const VwFamilyOptions* options,
          Made*                  made) {
  return check_equal(try_kind(raw, kind, options, made), VW_OK, "joined");
}

/// The same of a sustained one.
static bool
join(const VwSound* raw, const VwFamilyOptions* options, Made* made) {
  return join_kind(raw, VW_KIND_SUSTAINED, options, made);
}

static double
db(double power) {
  return 10.0 * log10(power);
}

/* Tones */

/// Amplitude of the line `k` of what repeats, in one period of it.
static double
line_of(const VwSound* loop, double k) {
  const double step = 2.0 * PI * k / (double)loop->n_frames;
  double       re = 0.0;
  double       im = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    re += (double)loop->values[i] * cos(step * (double)i);
    im += (double)loop->values[i] * sin(step * (double)i);
  }
  return 2.0 * sqrt(re * re + im * im) / (double)loop->n_frames;
}

typedef struct {
  double hz[4];
  size_t n;
} Pitches;

static double
line_at(const VwSound* loop, double hz) {
  return floor(hz * (double)loop->n_frames / (double)loop->rate_hz + 0.5);
}

/// The strongest line about the tones that is none, below the strongest, dB.
/// Repeated 20 times or without end, a period has its lines and no others.
static double
sidebands_db(const VwSound* loop, const Pitches* pitches) {
  double tone = 0.0;
  double side = 1e-12;
  for (size_t i = 0; i < pitches->n; ++i) {
    const double middle = line_at(loop, pitches->hz[i]);
    tone = fmax(tone, line_of(loop, middle));
    for (double k = middle - 4.0; k <= middle + 4.0; k += 1.0) {
      bool own = false;
      for (size_t j = 0; j < pitches->n; ++j) {
        own |= k == line_at(loop, pitches->hz[j]);
      }
      side = own ? side : fmax(side, line_of(loop, k));
    }
  }
  return 2.0 * db(side / tone);
}

static void
test_tones(void** state) {
  // Two tones less than 10 Hz apart are led over as one.
  static const double bounds_db[] = {-120.0, -120.0, -70.0, -55.0};
  const size_t        n_each = sweep(10, 100);
  bool                ok = true;
  (void)state;
  for (size_t n = 1; n <= 4; ++n) {
    SignalRandom random = stream(n);
    double       worst_db = -HUGE_VAL;
    size_t       n_good = 0;
    for (size_t i = 0; i < n_each; ++i) {
      Pitches         pitches = {.n = n};
      VwSound         raw = signal_silence(2.6, 44100);
      VwFamilyOptions options = plain_options(1.25);
      Made            made;
      // As loud as they can be: a limiter would add tones of its own.
      options.level = vw_level_defaults();
      for (size_t k = 0; k < n; ++k) {
        pitches.hz[k] = 80.0 * pow(25.0, signal_uniform(&random));
        signal_add_tone(&raw,
                        pitches.hz[k],
                        0.1 + 0.1 * signal_uniform(&random),
                        signal_uniform(&random));
      }
      ok &= join(&raw, &options, &made);
      const double side_db =
        sidebands_db(&made_piece(&made.family, VW_PART_LOOP)->sound, &pitches);
      n_good += side_db < bounds_db[n - 1U] ? 1U : 0U;
      worst_db = fmax(worst_db, side_db);
      ok &= check_equal(made.family.join.kind, VW_JOIN_REPEATS, "repeats");
      made_clear(&made);
      vw_sound_clear(&raw);
    }
    print_message("%zu tones: %zu of %zu below %g dB, all below %.1f\n",
                  n,
                  n_good,
                  n_each,
                  bounds_db[n - 1U],
                  worst_db);
    ok &= check_at_least((double)n_good,
                         0.9 * (double)n_each,
                         "%zu tones below %g dB",
                         n,
                         bounds_db[n - 1U]);
  }
  assert_true(ok);
}

// Of a tone every period is a good length.
static void
test_nearest_length(void** state) {
  static const double asked_s[] = {0.4, 0.8, 1.3, 2.0};
  VwSound             raw = signal_silence(4.5, 22050);
  bool                ok = true;
  (void)state;
  signal_add_tone(&raw, 97.3, 0.2, 0.1);
  for (size_t i = 0; i < sizeof(asked_s) / sizeof(asked_s[0]); ++i) {
    VwFamilyOptions options = plain_options(2.0);
    Made            made;
    options.cycle_s = asked_s[i];
    ok &= join(&raw, &options, &made);
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    ok &= check_at_most(fabs((double)loop->n_frames / 22050.0 - asked_s[i]),
                        1.0 / 97.3,
                        "%g s asked: off, s",
                        asked_s[i]);
    made_clear(&made);
  }
  vw_sound_clear(&raw);
  assert_true(ok);
}

static void
test_asked_length(void** state) {
  static const double asked_s[] = {0.1, 0.33, 0.8, 1.27, 2.0};
  VwSound             raw = signal_silence(4.5, 22050);
  bool                ok = true;
  (void)state;
  signal_add_tone(&raw, 97.3, 0.2, 0.1);
  signal_add_tone(&raw, 331.9, 0.2, 0.6);
  for (size_t i = 0; i < sizeof(asked_s) / sizeof(asked_s[0]); ++i) {
    VwFamilyOptions options = plain_options(2.0);
    Made            made;
    options.cycle_s = asked_s[i];
    ok &= join(&raw, &options, &made);
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    ok &=
      check_at_most(fabs((double)loop->n_frames / 22050.0 / asked_s[i] - 1.0),
                    0.0501,
                    "%g s asked",
                    asked_s[i]);
    ok &= check_at_least(
      made.family.join.likeness, 0.98, "%g s asked: likeness", asked_s[i]);
    made_clear(&made);
  }
  vw_sound_clear(&raw);
  assert_true(ok);
}

// Four partials that swing are no noise at a length at which they do not fit;
// one is named at which they do.
static void
test_partials(void** state) {
  static const double pitches[] = {110.0, 220.0, 331.0, 440.0};
  VwSound             raw = signal_silence(6.0, 44100);
  VwFamilyOptions     options = plain_options(3.0);
  Made                made;
  (void)state;
  for (size_t i = 0; i < 4U; ++i) {
    signal_add_tone(&raw, pitches[i], 0.1, 0.0);
  }
  for (size_t i = 0; i < raw.n_frames; ++i) {
    const double t = (double)i / 44100.0;
    raw.values[i] *= (float)(1.0 + 0.3 * sin(2.0 * PI * 7.0 * t));
  }
  options.cycle_s = 1.5;
  bool                ok = join(&raw, &options, &made);
  const VwJoin* const found = &made.family.join;
  const double        better = found->better_s;
  ok &= check_at_most(found->likeness, 0.7, "1.5 s: likeness");
  ok &= check_equal(found->kind, VW_JOIN_NOTHING, "1.5 s: kind");
  ok &= check_at_most(fabs(better - 2.0), 0.001, "2 s are better, off");
  made_clear(&made);
  options.cycle_s = better;
  ok &= join(&raw, &options, &made);
  ok &= check_equal(made.family.join.kind, VW_JOIN_REPEATS, "2 s: kind");
  ok &= check_at_least(made.family.join.likeness, 0.98, "2 s: likeness");
  ok &= check_equal(made.family.join.better_s, 0.0, "2 s: none better");
  made_clear(&made);
  vw_sound_clear(&raw);
  assert_true(ok);
}

/* Level */

static double
power_of(const VwSound* loop, size_t middle, size_t n) {
  const size_t n_frames = loop->n_frames;
  double       power = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const size_t at = (middle + 2U * n_frames - n / 2U + i) % n_frames;
    for (unsigned c = 0; c < loop->n_channels; ++c) {
      const double x = (double)loop->values[at * loop->n_channels + c];
      power += x * x;
    }
  }
  return power / (double)n;
}

static int
compare(const void* a, const void* b) {
  const double one = *(const double*)a;
  const double two = *(const double*)b;
  return (one > two) - (one < two);
}

/// Level of the 100 ms about the seam, or the middle of the crossfade if that
/// is farther off, to the median of the loop's, dB.
static double
level_off_db(const VwFamily* family) {
  const VwSound* const loop = &made_piece(family, VW_PART_LOOP)->sound;
  const size_t         usual = loop->rate_hz / 10U;
  const size_t n = usual < loop->n_frames / 2U ? usual : loop->n_frames / 2U;
  double       powers[256];
  for (size_t i = 0; i < 256U; ++i) {
    powers[i] = power_of(loop, i * loop->n_frames / 256U, n);
  }
  qsort(powers, 256U, sizeof(double), compare);
  const double seam = db(power_of(loop, 0U, n) / powers[128]);
  const double middle =
    db(power_of(loop, loop->n_frames - family->join.blend_frames / 2U, n) /
       powers[128]);
  return fabs(seam) > fabs(middle) ? seam : middle;
}

/// How much the power swings once in `n` frames, to its mean.
static double
swing(const float* values, size_t n) {
  double mean = 0.0;
  double re = 0.0;
  double im = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double power = (double)values[i] * (double)values[i];
    mean += power;
    re += power * cos(2.0 * PI * (double)i / (double)n);
    im += power * sin(2.0 * PI * (double)i / (double)n);
  }
  return 4.0 * (re * re + im * im) / (mean * mean);
}

static void
test_noise(void** state) {
  const size_t n_seeds = sweep(10, 50);
  double       loops = 0.0;
  double       most_db = 0.0;
  double       takes = 0.0;
  size_t       n_takes = 0;
  bool         ok = true;
  (void)state;
  for (size_t seed = 0; seed < n_seeds; ++seed) {
    SignalRandom    random = stream(seed);
    VwSound         raw = signal_silence(3.0, 44100);
    VwFamilyOptions options = plain_options(1.0);
    const double    colour = 0.95 * signal_uniform(&random);
    double          last = 0.0;
    Made            made;
    for (size_t i = 0; i < raw.n_frames; ++i) {
      last = colour * last + (1.0 - colour) * signal_normal(&random);
      raw.values[i] = (float)(0.2 * last);
    }
    ok &= join(&raw, &options, &made);
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    const double         off_db = fabs(level_off_db(&made.family));
    ok &= check_at_most(off_db, 0.5, "noise %zu: level", seed);
    most_db = fmax(most_db, off_db);
    ok &= check_equal(made.family.join.kind, VW_JOIN_NOISE, "noise %zu", seed);
    loops += swing(loop->values, loop->n_frames);
    for (size_t at = 0; at + loop->n_frames < raw.n_frames;
         at += loop->n_frames / 2U) {
      takes += swing(raw.values + at, loop->n_frames);
      ++n_takes;
    }
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  const double swing_db =
    db(loops / (double)n_seeds / (takes / (double)n_takes));
  print_message("%zu noises: levels within %.2f dB, swing %+.2f dB\n",
                n_seeds,
                most_db,
                swing_db);
  ok &= check_at_most(
    swing_db, 3.0, "swing at the loop's rate, to the take's own, dB");
  assert_true(ok);
}

/* Movement */

static void
test_tremolo(void** state) {
  static const double rates_hz[] = {2.3, 5.17, 8.01, 13.7};
  bool                ok = true;
  (void)state;
  for (size_t i = 0; i < 8U; ++i) {
    SignalRandom    random = signal_random(i);
    VwSound         raw = signal_silence(5.0, 22050);
    const double    hz = rates_hz[i / 2U];
    VwFamilyOptions options = plain_options(2.0);
    Made            made;
    for (size_t k = 0; k < raw.n_frames; ++k) {
      const double t = (double)k / 22050.0;
      const double x =
        i % 2U ? 0.3 * signal_normal(&random) : sin(2.0 * PI * 440.3 * t);
      raw.values[k] = (float)(0.3 * x * (1.0 + 0.6 * sin(2.0 * PI * hz * t)));
    }
    ok &= join(&raw, &options, &made);
    const double periods =
      (double)made_piece(&made.family, VW_PART_LOOP)->sound.n_frames / 22050.0 *
      hz;
    // Noise shows its swing to half a step of 10 ms.
    ok &= check_at_most(fabs(periods - floor(periods + 0.5)),
                        i % 2U ? fmax(0.007 * hz, 0.05) : 0.02,
                        "%g Hz: periods",
                        hz);
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

static void
test_what_changes(void** state) {
  static const struct {
    double glide_octaves_per_s;
    double decay_s; // by 60 dB
    double level;
  } cases[] = {{0.0, 0.0, 0.3},
               {0.1, 0.0, 0.3},
               {-0.2, 0.0, 0.3},
               {0.25, 0.0, 0.3},
               {0.0, 12.0, 0.5}};
  bool ok = true;
  (void)state;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    SignalRandom      random = signal_random(1);
    VwSound           raw = signal_silence(4.2, 44100);
    const SignalBurst burst = {.hold_s = cases[i].decay_s > 0.0 ? 0.0 : 9.0,
                               .decay_s = cases[i].decay_s,
                               .level = cases[i].level,
                               .pitch_hz = 220.7,
                               .glide_octaves_per_s =
                                 cases[i].glide_octaves_per_s};
    VwFamilyOptions   options = plain_options(2.0);
    Made              made;
    signal_add_burst(&raw, &burst, &random);
    ok &= join(&raw, &options, &made);
    const VwJoin* const of = &made.family.join;
    if (cases[i].glide_octaves_per_s != 0.0) {
      ok &= check_at_most(
        fabs(of->glide_cents_per_s / (1200.0 * cases[i].glide_octaves_per_s) -
             1.0),
        0.1,
        "case %zu: glide",
        i);
      ok &= check_that(of->kind != VW_JOIN_NOISE, "case %zu: no noise", i);
    } else {
      ok &= check_that(isnan(of->glide_cents_per_s), "case %zu: no glide", i);
    }
    const double falls = cases[i].decay_s > 0.0 ? 60.0 / cases[i].decay_s : 0.0;
    ok &= check_at_most(
      fabs(of->falls_db_per_s - falls), 0.3, "case %zu: falls", i);
    ok &= check_at_most(
      fabs(level_off_db(&made.family)), 0.5, "case %zu: level", i);
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

/* Rapid fire */

/// How far the loop is from the take, to its RMS, dB.
static double
residual_db(const VwSound* loop, const VwSound* take, size_t from) {
  double apart = 0.0;
  double power = 0.0;
  for (size_t i = 0; i < loop->n_frames; ++i) {
    const double x = (double)loop->values[i];
    const double y = (double)take->values[from + i];
    apart += (x - y) * (x - y);
    power += x * x;
  }
  return db(apart / power + 1e-15);
}

/// Twenty shots, so far apart.
static VwSound
rapid_fire(double period_s) {
  VwSound      raw = signal_silence(0.5 + 24.0 * period_s, 44100);
  SignalRandom random = signal_random(1);
  for (size_t k = 0; k < 20U; ++k) {
    const SignalBurst burst = {.start_s = 0.3 + (double)k * period_s,
                               .rise_s = 0.001,
                               .decay_s = 2.0 * period_s,
                               .level = 0.4,
                               .pitch_hz = 700.0,
                               .glide_octaves_per_s = -4.0};
    signal_add_burst(&raw, &burst, &random);
  }
  return raw;
}

static void
test_rapid_fire(void** state) {
  static const double rates_per_s[] = {4.0, 7.35, 12.5, 18.0};
  bool                ok = true;
  (void)state;
  for (size_t i = 0; i < sizeof(rates_per_s) / sizeof(rates_per_s[0]); ++i) {
    // Shots a whole number of frames apart.
    const double    period_s = floor(44100.0 / rates_per_s[i]) / 44100.0;
    VwSound         raw = rapid_fire(period_s);
    VwFamilyOptions options = plain_options(1.2);
    Made            made;
    ok &= join_kind(&raw, VW_KIND_RAPID_FIRE, &options, &made);
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    const size_t         period = (size_t)floor(period_s * 44100.0 + 0.5);
    ok &= check_equal((double)made.family.plan.shots * (double)period,
                      (double)loop->n_frames,
                      "%g per second: whole cycles",
                      rates_per_s[i]);
    ok &= check_at_least((double)loop->n_frames / 44100.0,
                         0.7,
                         "%g per second: long, s",
                         rates_per_s[i]);
    ok &= check_at_most(residual_db(loop,
                                    &made.take.sound,
                                    made.family.join.start_frame + period),
                        -60.0,
                        "%g per second: residual",
                        rates_per_s[i]);
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

/// Where the energy of the next 2 ms rises the most over that of the last.
static size_t
attack_within(const VwSound* sound, size_t from, size_t to) {
  const size_t n = 88;
  double       most = -HUGE_VAL;
  size_t       at = from;
  for (size_t i = from; i < to; ++i) {
    double rise = 0.0;
    for (size_t k = 0; k < n; ++k) {
      const double after =
        i + k < sound->n_frames ? (double)sound->values[i + k] : 0.0;
      const double before = i > k ? (double)sound->values[i - k - 1U] : 0.0;
      rise += after * after - before * before;
    }
    at = rise > most ? i : at;
    most = fmax(rise, most);
  }
  return at;
}

typedef struct {
  double   rate_per_s;
  unsigned buffer_frames;
  double   gap_ms;
  double   late_ms; ///< Over the seam as heard: a gap too long to hide.
  double   off_most_ms;
  VwStatus status;
} EvenCase;

// Played again and again by a board that plays whole buffers, or adds a gap.
static void
test_even_rapid_fire(void** state) {
  static const EvenCase cases[] = {
    {11.0, 1, 0.0, 0.0, 0.5, VW_OK},
    {11.0, 1, 30.0, 0.0, 0.5, VW_OK},
    {7.35, 441, 40.0, 0.0, 5.5, VW_OK},
    {11.0, 512, 0.0, 0.0, 5.5, VW_OK},
    {11.0, 4096, 0.0, 0.0, 5.5, VW_OK},
    {11.0, 1, 50.0, 50.0, 0.5, VW_OK},
    {11.0, 16384, 0.0, 0.0, 0.0, VW_CYCLE_TOO_LONG},
  };
  bool ok = true;
  (void)state;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const EvenCase* const of = &cases[i];
    VwSound               raw = rapid_fire(1.0 / of->rate_per_s);
    VwFamilyOptions       options = plain_options(1.2);
    Made                  made;
    options.form = VW_FORM_WHOLE_FILE;
    options.buffer_frames = of->buffer_frames;
    options.gap_ms = of->gap_ms;
    const VwStatus st = try_kind(&raw, VW_KIND_RAPID_FIRE, &options, &made);
    ok &= check_equal(st, of->status, "case %zu: status", i);
    if (!st) {
      const VwSound* const loop =
        &made_piece(&made.family, VW_PART_LOOP)->sound;
      const VwPlan* const plan = &made.family.plan;
      const double        gap = floor(44.1 * of->gap_ms + 0.5);
      const double        heard = (double)loop->n_frames + gap;
      const double        period = 44100.0 / of->rate_per_s;
      const double        first =
        (double)attack_within(loop, 0U, (size_t)(0.5 * period));
      const double last = (double)attack_within(
        loop,
        (size_t)fmax(heard - 1.6 * period, 0.0),
        (size_t)fmin(heard - 0.4 * period, (double)loop->n_frames));
      ok &= check_at_most(
        fabs((heard + first - last - period) / 44.1 - of->late_ms),
        of->off_most_ms,
        "case %zu: over the seam, ms",
        i);
      ok &= check_equal((double)(loop->n_frames % of->buffer_frames),
                        0.0,
                        "case %zu: whole buffers",
                        i);
      ok &= check_at_most(
        fabs(plan->fire_rate_per_s / (44100.0 * plan->shots / heard) - 1.0),
        1e-9,
        "case %zu: rate as heard",
        i);
      ok &= check_equal(floor((heard - 44.1 * of->late_ms) / period + 0.5),
                        (double)plan->shots,
                        "case %zu: shots",
                        i);
    }
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  assert_true(ok);
}

/* One sound */

typedef struct {
  unsigned   rate_hz;
  unsigned   made_hz; ///< 0: the same.
  double     seconds;
  unsigned   n_channels;
  unsigned   buffer_frames;
  VwEncoding encoding;
  bool       late; ///< The second channel by 20 ms.
} SoundCase;

static const SoundCase sounds[] = {
  {8000, 0, 3.0, 1, 1, VW_ENCODING_FLOAT, false},
  {44100, 22050, 0.6, 1, 1, VW_ENCODING_U8, false},
  {48000, 0, 4.0, 2, 256, VW_ENCODING_S16, true},
  {96000, 48000, 2.0, 2, 1, VW_ENCODING_S24, false},
  {44100, 0, 0.05, 1, 1, VW_ENCODING_S16, false},
  {44100, 0, 0.006, 1, 1, VW_ENCODING_S16, false},
  {8000, 0, 30.0, 1, 65536, VW_ENCODING_S16, false},
};

/// Two tones that swell, stay and fade.
static VwSound
sound_of(const SoundCase* of) {
  const size_t n = (size_t)(of->seconds * of->rate_hz);
  VwSound      sound = {0};
  (void)vw_sound_init(&sound, n, of->n_channels, of->rate_hz);
  for (size_t i = 0; i < n; ++i) {
    for (unsigned c = 0; c < of->n_channels; ++c) {
      const double t = (double)i / of->rate_hz - (c && of->late ? 0.02 : 0.0);
      const double swell =
        fmax(fmin(1.0, 10.0 * fmin(t, of->seconds - t) / of->seconds), 0.0);
      sound.values[i * of->n_channels + c] =
        (float)(swell * (0.35 * sin(2.0 * PI * 301.7 * t) +
                         0.25 * sin(2.0 * PI * 977.1 * t)));
    }
  }
  return sound;
}

static bool
make_form(const SoundCase* of, VwForm form, Made* made) {
  VwSound         raw = sound_of(of);
  VwFamilyOptions options = made_options();
  options.format =
    (VwFormat){of->made_hz, of->n_channels, of->encoding, VW_DITHER_NONE};
  options.form = form;
  options.buffer_frames = of->buffer_frames;
  options.cycle_max_s = of->buffer_frames > 4096U ? 9.0 : 1.0;
  options.burst_shots = 2U;
  const bool made_it = join(&raw, &options, made);
  vw_sound_clear(&raw);
  return made_it;
}

/// A loop repeated is the same as one turned.
static double
turned_difference(const VwSound* one, const VwSound* other) {
  const size_t n_values = one->n_frames * one->n_channels;
  double       least = HUGE_VAL;
  for (size_t by = 0; by < one->n_frames && least > 1e-5; ++by) {
    double most = 0.0;
    for (size_t i = 0; i < n_values && most < least; ++i) {
      const size_t at = (i + by * one->n_channels) % n_values;
      most =
        fmax(most, fabs((double)one->values[at] - (double)other->values[i]));
    }
    least = fmin(least, most);
  }
  return least;
}

static void
test_forms(void** state) {
  bool ok = true;
  (void)state;
  for (size_t i = 0; i < sizeof(sounds) / sizeof(sounds[0]); ++i) {
    const SoundCase* const of = &sounds[i];
    Made                   pieces, points, whole, burst;
    ok &= make_form(of, VW_FORM_PIECES, &pieces);
    ok &= make_form(of, VW_FORM_LOOP_POINTS, &points);
    ok &= make_form(of, VW_FORM_WHOLE_FILE, &whole);
    ok &= make_form(of, VW_FORM_BURST, &burst);
    // A burst of two repeats is limited as one sound, without a cut.
    VwSound              two = made_joined(&pieces.family, 2U);
    const VwSound* const fired =
      &made_piece(&burst.family, VW_PART_BURST)->sound;
    const VwSound* const loop =
      &made_piece(&pieces.family, VW_PART_LOOP)->sound;
    // It has no buffer.
    ok &= of->buffer_frames > 1U ||
          check_at_most(
            measure_difference(&two, fired), 1e-5, "sound %zu: two repeats", i);
    VwSound              once = made_joined(&pieces.family, 1U);
    const VwPiece* const all = made_piece(&points.family, VW_PART_LOOP);
    ok &= check_equal(
      measure_difference(&once, &all->sound), 0.0, "sound %zu: points", i);
    ok &= check_equal((double)(all->loop_end - all->loop_start),
                      (double)loop->n_frames,
                      "sound %zu: loop",
                      i);
    ok &= check_at_most(
      turned_difference(loop, &made_piece(&whole.family, VW_PART_LOOP)->sound),
      1e-5,
      "sound %zu: whole file",
      i);
    ok &= check_equal((double)(loop->n_frames % of->buffer_frames),
                      0.0,
                      "sound %zu: buffer",
                      i);
    const VwSound* const run_in =
      &made_piece(&pieces.family, VW_PART_RUN_IN)->sound;
    ok &= check_equal((double)(run_in->n_frames % of->buffer_frames),
                      0.0,
                      "sound %zu: buffer before",
                      i);
    ok &= check_at_most(
      pieces.family.join_residual_db, -100.0, "sound %zu: seam", i);
    vw_sound_clear(&two);
    vw_sound_clear(&once);
    made_clear(&pieces);
    made_clear(&points);
    made_clear(&whole);
    made_clear(&burst);
  }
  assert_true(ok);
}

static void
test_ten_minutes(void** state) {
  const SoundCase of = {8000, 0, 599.0, 1, 1, VW_ENCODING_S16, false};
  Made            made;
  bool            ok = make_form(&of, VW_FORM_PIECES, &made);
  (void)state;
  // It swells and fades for a tenth of the time; what is even is left out.
  const VwSound* const run_in =
    &made_piece(&made.family, VW_PART_RUN_IN)->sound;
  const VwSound* const ring_out =
    &made_piece(&made.family, VW_PART_RING_OUT)->sound;
  ok &= check_at_most((double)run_in->n_frames / 8000.0, 62.0, "run-in, s");
  ok &= check_at_most((double)ring_out->n_frames / 8000.0, 62.0, "ring-out, s");
  made_clear(&made);
  assert_true(ok);
}

/* Other takes before and after */

/// A tone with an overtone whose pitch glides evenly.
static VwSound
glide(unsigned rate_hz, double from_hz, double to_hz, double level) {
  VwSound sound = signal_silence(1.5, rate_hz);
  double  phase = 0.0;
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const double x = (double)i / (double)sound.n_frames;
    phase += 2.0 * PI * (from_hz + x * (to_hz - from_hz)) / rate_hz;
    sound.values[i] = (float)(level * (sin(phase) + 0.4 * sin(2.0 * phase)));
  }
  return sound;
}

/// Level of the 50 ms after a frame over that of those before, dB.
static double
change_db(const VwSound* sound, size_t at) {
  const size_t n = sound->rate_hz / 20U;
  double       power[2] = {0.0, 0.0};
  for (size_t i = 0; i < 2U * n; ++i) {
    const double value = (double)sound->values[at - n + i];
    power[i / n] += value * value;
  }
  return db(power[1] / power[0]);
}

/// No step, no change of level about a frame.
static bool
check_about(const VwSound* sound, size_t at, double usual, const char* what) {
  const size_t n = sound->rate_hz / 10U;
  const size_t last = at + n < sound->n_frames ? at + n : sound->n_frames - 1U;
  bool         ok = check_at_most(
    measure_step_max(sound, at - n, last), usual, "%s: step", what);
  ok &= check_at_most(fabs(change_db(sound, at)), 1.0, "%s: level, dB", what);
  return ok;
}

/// No step and no change of level where one sound leads over to the next.
static bool
check_leads(const VwFamily* family) {
  bool                 ok = true;
  const VwJoin* const  of = &family->join;
  const VwSound* const loop = &made_piece(family, VW_PART_LOOP)->sound;
  const size_t n_run_in = made_piece(family, VW_PART_RUN_IN)->sound.n_frames;
  VwSound      once = made_joined(family, 1U);
  const double usual = 1.1 * measure_step_max(loop, 1U, loop->n_frames - 1U);
  const size_t led = of->run_in.at_frame + of->run_in.blend_frames / 2U;
  const size_t after =
    n_run_in + loop->n_frames + of->ring_out.blend_frames / 2U;
  ok &= check_about(&once, led, usual, "spin-up");
  ok &= check_about(&once, n_run_in, usual, "loop's start");
  ok &= check_about(&once, n_run_in + loop->n_frames, usual, "loop's end");
  ok &= check_about(&once, after, usual, "wind-down");
  ok &= check_at_least(of->run_in.likeness, 0.9, "spin-up: likeness");
  ok &= check_at_least(of->ring_out.likeness, 0.9, "wind-down: likeness");
  ok &= check_at_most(fabs(of->run_in.gain_db - 11.5), 0.5, "spin-up: matched");
  ok &=
    check_at_most(fabs(of->ring_out.gain_db + 6.0), 0.5, "wind-down: matched");
  ok &= check_at_least((double)n_run_in / 44100.0, 1.0, "spin-up, s");
  vw_sound_clear(&once);
  return ok;
}

static void
test_other_takes(void** state) {
  VwSound up = glide(22050, 40.0, 125.0, 0.08);
  VwSound down = glide(48000, 125.0, 40.0, 0.6);
  VwSound raw = signal_silence(3.0, 44100);
  VwTake  takes[2] = {0};
  Made    made;
  bool    ok = true;
  (void)state;
  signal_add_tone(&raw, 120.0, 0.3, 0.0);
  signal_add_tone(&raw, 240.0, 0.12, 0.0);
  ok &= check_equal(vw_take_prepare(&up, &takes[0]), VW_OK, "up");
  ok &= check_equal(vw_take_prepare(&down, &takes[1]), VW_OK, "down");
  VwFamilyOptions options = plain_options(1.0);
  options.run_in_take = &takes[0];
  options.ring_out_take = &takes[1];
  ok &= join(&raw, &options, &made);
  ok &= check_leads(&made.family);
  VwSound once = made_joined(&made.family, 1U);
  VwSound twice = made_joined(&made.family, 2U);
  options.form = VW_FORM_LOOP_POINTS;
  Made points;
  ok &= join(&raw, &options, &points);
  ok &= check_equal(
    measure_difference(&once, &made_piece(&points.family, VW_PART_LOOP)->sound),
    0.0,
    "with loop points");
  options.form = VW_FORM_BURST;
  options.burst_shots = 2U;
  Made burst;
  ok &= join(&raw, &options, &burst);
  ok &=
    check_at_most(measure_difference(
                    &twice, &made_piece(&burst.family, VW_PART_BURST)->sound),
                  1e-5,
                  "two repeats");
  made_clear(&burst);
  made_clear(&points);
  made_clear(&made);
  vw_take_clear(&takes[0]);
  vw_take_clear(&takes[1]);
  vw_sound_clear(&once);
  vw_sound_clear(&twice);
  vw_sound_clear(&up);
  vw_sound_clear(&down);
  vw_sound_clear(&raw);
  assert_true(ok);
}

/// A tone that comes and goes, each within 0.5 s.
static VwSound
swell(double pitch_hz) {
  VwSound      sound = signal_silence(2.0, 44100);
  const double ends = 0.5 * 44100.0;
  signal_add_tone(&sound, pitch_hz, 0.4, 0.0);
  for (size_t i = 0; i < sound.n_frames; ++i) {
    const double n = (double)sound.n_frames;
    const double x = fmin((double)i, n - (double)i) / ends;
    sound.values[i] *= (float)pow(fmin(x, 1.0), 2.0);
  }
  return sound;
}

// A take of another pitch is like the loop nowhere: it is not led over to where
// it is soft, from where all of it would be raised.
static void
test_swelling_takes(void** state) {
  static const double pitches_hz[] = {151.3, 173.9, 207.1, 333.3};
  bool                ok = true;
  VwSound             raw = signal_silence(3.0, 44100);
  (void)state;
  signal_add_tone(&raw, 120.0, 0.3, 0.0);
  for (size_t i = 0; i < sizeof(pitches_hz) / sizeof(pitches_hz[0]); ++i) {
    VwSound other = swell(pitches_hz[i]);
    VwTake  take = {0};
    ok &= check_equal(vw_take_prepare(&other, &take), VW_OK, "other");
    VwFamilyOptions options = plain_options(1.0);
    options.run_in_take = &take;
    options.ring_out_take = &take;
    Made made;
    ok &= join(&raw, &options, &made);
    const VwJoin* const of = &made.family.join;
    ok &= check_at_most(of->run_in.gain_db, 6.0, "case %zu: run-in", i);
    ok &= check_at_most(of->ring_out.gain_db, 6.0, "case %zu: ring-out", i);
    made_clear(&made);
    vw_take_clear(&take);
    vw_sound_clear(&other);
  }
  vw_sound_clear(&raw);
  assert_true(ok);
}

/// Level of what lasts so long after a frame over that of as much before
/// another, dB.
static double
level_change_db(const VwSound* sound, size_t before, size_t after, size_t n) {
  double power[2] = {0.0, 0.0};
  for (size_t i = 0; i < n; ++i) {
    const double one = (double)sound->values[before - n + i];
    const double other = (double)sound->values[after + i];
    power[0] += one * one;
    power[1] += other * other;
  }
  return db(power[1] / power[0]);
}

/// Rapid fire between a motor's spin-up and wind-down: over a period on either
/// side of each lead the level is the same, and nothing steps.
static void
test_other_takes_of_rapid_fire(void** state) {
  static const double rates_per_s[] = {4.0, 7.35, 12.5, 18.0};
  (void)state;
  VwSound up = glide(22050, 40.0, 125.0, 0.03);
  VwSound down = glide(48000, 125.0, 40.0, 0.6);
  VwTake  takes[2] = {0};
  bool    ok = true;
  ok &= check_equal(vw_take_prepare(&up, &takes[0]), VW_OK, "up");
  ok &= check_equal(vw_take_prepare(&down, &takes[1]), VW_OK, "down");
  for (size_t i = 0; i < sizeof(rates_per_s) / sizeof(rates_per_s[0]); ++i) {
    const double    rate = rates_per_s[i];
    const size_t    period = (size_t)(44100.0 / rate);
    VwSound         raw = rapid_fire((double)period / 44100.0);
    VwFamilyOptions options = plain_options(1.2);
    Made            made;
    options.run_in_take = &takes[0];
    options.ring_out_take = &takes[1];
    ok &= join_kind(&raw, VW_KIND_RAPID_FIRE, &options, &made);
    const VwJoin* const  of = &made.family.join;
    const VwSound* const loop = &made_piece(&made.family, VW_PART_LOOP)->sound;
    const size_t         n_run_in =
      made_piece(&made.family, VW_PART_RUN_IN)->sound.n_frames;
    VwSound      once = made_joined(&made.family, 1U);
    const size_t out = n_run_in + loop->n_frames;
    const double usual = 1.1 * measure_step_max(&raw, 1U, raw.n_frames - 1U);
    const double in_db =
      level_change_db(&once,
                      of->run_in.at_frame,
                      of->run_in.at_frame + of->run_in.blend_frames,
                      period);
    const double out_db = level_change_db(
      &once, out, out + 88U + of->ring_out.blend_frames, period);
    ok &= check_at_most(fabs(in_db), 1.0, "%g/s: spin-up: level, dB", rate);
    ok &= check_at_most(fabs(out_db), 1.0, "%g/s: wind-down: level, dB", rate);
    ok &= check_at_most(measure_step_max(&once, 1U, once.n_frames - 1U),
                        usual,
                        "%g/s: step",
                        rate);
    vw_sound_clear(&once);
    made_clear(&made);
    vw_sound_clear(&raw);
  }
  vw_take_clear(&takes[0]);
  vw_take_clear(&takes[1]);
  vw_sound_clear(&up);
  vw_sound_clear(&down);
  assert_true(ok);
}

/* Real ones */

static size_t n_real;
static size_t n_even;

static bool
check_real(const char* name, const VwSound* raw) {
  VwFamilyOptions options = plain_options(2.0);
  VwFindOptions   finding = vw_find_defaults();
  VwTake          take = {0};
  VwShotFacts     facts;
  if (vw_take_prepare(raw, &take)) {
    return false;
  }
  const bool sustained =
    !vw_find(&take, &finding, &facts) && facts.kind == VW_KIND_SUSTAINED;
  vw_take_clear(&take);
  if (sustained) {
    Made         made;
    bool         ok = join(raw, &options, &made);
    const double off_db = level_off_db(&made.family);
    ++n_real;
    n_even += fabs(off_db) <= 1.0 ? 1U : 0U;
    print_message("%s: %s, likeness %.3f, %.3f s, level %+.2f dB\n",
                  name,
                  vw_join_kind_name(made.family.join.kind),
                  made.family.join.likeness,
                  (double)made.family.join.n_frames /
                    made.family.format.rate_hz,
                  off_db);
    made_clear(&made);
    return ok;
  }
  return true;
}

static void
visit(const RecordingLabel* label, const VwSound* raw) {
  if (!label->is_held && !strcmp(label->kind, "sustained") &&
      strcmp(label->package, "bzflag-data") != 0) {
    (void)check_real(label->path, raw);
  }
}

static void
test_real(void** state) {
  (void)state;
  bool ok =
    check_equal((double)recordings_each(check_real), RECORDINGS, "recordings");
  (void)recordings_labelled("../tests/take/kinds.txt", visit);
  ok &= check_at_least((double)n_real, 5.0, "sustained ones");
  ok &= check_at_least(
    (double)n_even, 0.9 * (double)n_real, "of %zu within 1 dB", n_real);
  assert_true(ok);
}

/// Two dozen of a recording's shot, each choked by the next.
static VwSound
fire_of(const VwSound* shot, double per_s) {
  const size_t period = (size_t)((double)shot->rate_hz / per_s);
  const size_t fade = shot->rate_hz / 200U;
  const size_t n = period * 95U / 100U;
  VwSound      fire = signal_silence(0.5 + 24.0 / per_s, shot->rate_hz);
  SignalRandom random = signal_random(1);
  size_t       from = 0;
  double       peak = 0.0;
  for (size_t i = 0; i < shot->n_frames; ++i) {
    peak = fmax(peak, fabs((double)shot->values[i * shot->n_channels]));
  }
  while (fabs((double)shot->values[from * shot->n_channels]) < 0.1 * peak) {
    ++from;
  }
  for (size_t i = 0; i < 24U * period; ++i) {
    const size_t k = i % period;
    const double gain = fmax(fmin((double)n - (double)k, (double)fade), 0.0);
    if (from + k < shot->n_frames) {
      fire.values[shot->rate_hz / 10U + i] =
        (float)(0.7 / peak * gain / (double)fade *
                (double)shot->values[(from + k) * shot->n_channels]);
    }
  }
  signal_add_noise(&fire, 1e-4, &random);
  return fire;
}

static size_t n_fires;

/// What is found to be rapid fire is joined, whatever the board's sample rate.
static bool
check_fire(const char* name, const VwSound* raw) {
  static const double rates_per_s[] = {9.0, 11.0, 13.8};
  bool                ok = true;
  for (size_t i = 0; i < sizeof(rates_per_s) / sizeof(rates_per_s[0]); ++i) {
    VwSound         fire = fire_of(raw, rates_per_s[i]);
    VwFindOptions   finding = vw_find_defaults();
    VwFamilyOptions options = plain_options(2.0);
    VwTake          take = {0};
    VwShotFacts     facts;
    options.format.rate_hz = 8000;
    if (!vw_take_prepare(&fire, &take) && !vw_find(&take, &finding, &facts) &&
        facts.kind == VW_KIND_RAPID_FIRE) {
      Made made;
      ++n_fires;
      ok &= check_equal(try_kind(&fire, VW_KIND_RAPID_FIRE, &options, &made),
                        VW_OK,
                        "%s, %g per second: joined",
                        name,
                        rates_per_s[i]);
      made_clear(&made);
    }
    vw_take_clear(&take);
    vw_sound_clear(&fire);
  }
  return ok;
}

static void
test_real_fire(void** state) {
  (void)state;
  bool ok =
    check_equal((double)recordings_each(check_fire), RECORDINGS, "recordings");
  ok &= check_at_least((double)n_fires, 60.0, "of rapid fire");
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_tones),
    cmocka_unit_test(test_nearest_length),
    cmocka_unit_test(test_asked_length),
    cmocka_unit_test(test_partials),
    cmocka_unit_test(test_noise),
    cmocka_unit_test(test_tremolo),
    cmocka_unit_test(test_what_changes),
    cmocka_unit_test(test_rapid_fire),
    cmocka_unit_test(test_even_rapid_fire),
    cmocka_unit_test(test_forms),
    cmocka_unit_test(test_ten_minutes),
    cmocka_unit_test(test_other_takes),
    cmocka_unit_test(test_swelling_takes),
    cmocka_unit_test(test_other_takes_of_rapid_fire),
    cmocka_unit_test(test_real),
    cmocka_unit_test(test_real_fire),
  };
  if (!recordings_find(argc > 1 ? argv[1] : NULL)) {
    return RECORDINGS_MISSING;
  }
  return cmocka_run_group_tests(tests, NULL, NULL);
}
