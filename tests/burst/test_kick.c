// A kick under every shot: its level, measured at its frequency over the first
// 20 ms, and that the burst stays one.

#include "support/check.h"
#include "support/made.h"
#include "support/measure.h"
#include "support/meter.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

#define PI 3.14159265358979323846
#define PRE_ROLL_S 0.002
#define HEARD_S 0.020

/// A take.
typedef struct {
  const char* name;
  double      pitch_hz; ///< 0: noise.
  double      rise_s;
  double      decay_s;
} TakeCase;

static const TakeCase takes[] = {
  {"zap", 900.0, 0.0, 0.4},
  {"bang", 0.0, 0.0, 0.6},
  {"thud", 130.0, 0.002, 0.3},
  {"swell", 0.0, 0.06, 0.5},
};

static VwSound
take_of(const TakeCase* of) {
  const SignalBurst burst = {.start_s = 0.1,
                             .rise_s = of->rise_s,
                             .decay_s = of->decay_s,
                             .level = of->pitch_hz > 0.0 ? 0.5 : 0.15,
                             .pitch_hz = of->pitch_hz,
                             .phase_turns = 0.2};
  return signal_take(0.2 + of->decay_s, 44100, &burst, 5);
}

/// A board.
typedef struct {
  unsigned   rate_hz;
  VwEncoding encoding;
  VwForm     form;
} BoardCase;

static const BoardCase boards[] = {
  {44100, VW_ENCODING_S16, VW_FORM_PIECES},
  {22050, VW_ENCODING_S16, VW_FORM_PIECES},
  {11025, VW_ENCODING_S16, VW_FORM_PIECES},
  {8000, VW_ENCODING_U8, VW_FORM_PIECES},
};

/// Options whose gain leaves the limiter nothing to do.
static VwFamilyOptions
options_of(const BoardCase* board, double kick_db) {
  VwFamilyOptions options = made_options();
  options.format.rate_hz = board->rate_hz;
  options.format.encoding = board->encoding;
  options.form = board->form;
  options.level.aim = VW_AIM_GAIN;
  options.level.gain_db = -10.0;
  options.kick_db = kick_db;
  options.valley_db = 20.0; // which bends tails steeply
  return options;
}

/// What a shot has in its first 20 ms, as RMS under a Hann window.
typedef struct {
  double at_hz; ///< At that frequency: of a tone that reads the same.
  double all;
} Levels;

static Levels
levels_of(const VwSound* sound, double hz) {
  const size_t from = (size_t)(PRE_ROLL_S * sound->rate_hz + 0.5);
  const size_t n = (size_t)(HEARD_S * sound->rate_hz + 0.5);
  double       real = 0.0;
  double       imaginary = 0.0;
  double       weights = 0.0;
  double       squares = 0.0;
  double       power = 0.0;
  for (size_t i = 0; i < n && from + i < sound->n_frames; ++i) {
    const double w = 0.5 - 0.5 * cos(2.0 * PI * (double)i / (double)n);
    const double x = w * (double)sound->values[from + i];
    const double angle = 2.0 * PI * hz * (double)i / sound->rate_hz;
    real += x * cos(angle);
    imaginary += x * sin(angle);
    weights += w;
    squares += w * w;
    power += x * x;
  }
  return (Levels){sqrt(2.0) * hypot(real, imaginary) / weights,
                  sqrt(power / squares)};
}

static double
db_of(double ratio) {
  return 20.0 * log10(ratio);
}

/// How far a shot with a kick is above that without one: what this has counts
/// as no less than 12 dB below all of it.
static double
raised_db(const VwSound* kicked, const VwSound* plain, double hz) {
  const Levels before = levels_of(plain, hz);
  return db_of(levels_of(kicked, hz).at_hz /
               fmax(before.at_hz, before.all * pow(10.0, -12.0 / 20.0)));
}

static const VwSound*
piece_of(const Made* made, VwPart part) {
  return &made_piece(&made->family, part)->sound;
}

/// What a shot alone has without a kick, and the first of a burst, which may
/// start late.
typedef struct {
  Made plain;
  Made kicked;
} Pair;

/// What the report says that it adds is what is found of the shots alone.
static bool
check_cost(const Pair* pair, const char* name) {
  const VwSound* const kicked = piece_of(&pair->kicked, VW_PART_SHOT);
  const VwSound* const plain = piece_of(&pair->plain, VW_PART_SHOT);
  const VwKick* const  kick = &pair->kicked.family.kick;
  const double part = pow(measure_rms(plain) / measure_rms(kicked), 2.0) *
                      (double)plain->n_frames / (double)kicked->n_frames;
  const double lu = meter_effect_lufs(kicked) - meter_effect_lufs(plain);
  bool         ok = check_at_most(
    fabs(kick->share - fmax(1.0 - part, 0.0)), 0.01, "%s: share", name);
  ok &= check_at_most(
    fabs(kick->loudness_lu - lu), 0.1, "%s: what loudness has of it", name);
  return ok;
}

static bool
check_level(const TakeCase* take, const BoardCase* board, double per_s) {
  static const double asked[] = {3.0, 12.0, 24.0};
  VwSound             raw = take_of(take);
  bool                ok = true;
  for (size_t i = 0; i < sizeof(asked) / sizeof(asked[0]); ++i) {
    VwFamilyOptions options = options_of(board, 0.0);
    Pair            pair;
    options.fire_rate_per_s = per_s;
    options.level.gain_db = -10.0 - asked[i];
    assert_true(made_new(&raw, &options, &pair.plain));
    options.kick_db = asked[i];
    assert_true(made_new(&raw, &options, &pair.kicked));
    const double   hz = pair.kicked.family.kick.hz;
    const bool     late = take->rise_s > 0.4 / per_s;
    const VwSound* plain = piece_of(&pair.plain, VW_PART_SHOT);
    ok &= check_equal(hz, 120.0, "%s: frequency", take->name);
    ok &= check_at_most(
      fabs(raised_db(piece_of(&pair.kicked, VW_PART_SHOT), plain, hz) -
           asked[i]),
      0.5,
      "%s, %u Hz, %g dB: off in the shot",
      take->name,
      board->rate_hz,
      asked[i]);
    plain = late ? piece_of(&pair.plain, VW_PART_RUN_IN) : plain;
    ok &= check_at_most(
      fabs(raised_db(piece_of(&pair.kicked, VW_PART_RUN_IN), plain, hz) -
           asked[i]),
      0.5,
      "%s, %u Hz, %g dB, %g/s: off in the burst",
      take->name,
      board->rate_hz,
      asked[i],
      per_s);
    if (board->encoding != VW_ENCODING_U8 && per_s == 9.0) {
      ok &= check_cost(&pair, take->name);
    }
    made_clear(&pair.plain);
    made_clear(&pair.kicked);
  }
  vw_sound_clear(&raw);
  return ok;
}

/// At its usual level, limited: the valley is as asked, the seam exact, and
/// run-in, loops and ring-out are one burst.
static bool
check_burst(const TakeCase*  take,
            const BoardCase* board,
            double           per_s,
            double           kick_db) {
  VwSound         raw = take_of(take);
  VwFamilyOptions options = options_of(board, kick_db);
  Made            made;
  bool            ok = true;
  options.level = vw_family_defaults().level;
  options.valley_db = 9.0;
  options.fire_rate_per_s = per_s;
  assert_true(made_new(&raw, &options, &made));
  ok &= check_at_least(made.family.valley_db,
                       9.0,
                       "%s, %u Hz, %g/s: valley",
                       take->name,
                       board->rate_hz,
                       per_s);
  ok &= check_at_most(made.family.join_residual_db,
                      -90.0,
                      "%s, %u Hz, %g/s: residual",
                      take->name,
                      board->rate_hz,
                      per_s);
  made_clear(&made);
  options.level.aim = VW_AIM_KEEP; // no limiter, which would look at them all
  options.format.encoding = VW_ENCODING_FLOAT;
  assert_true(made_new(&raw, &options, &made));
  for (size_t k = 0; k < 3; ++k) {
    VwSound joined = made_joined(&made.family, k);
    VwSound laid = made_laid_down(
      &made.family, made.family.run_in_shots + k * made.family.plan.shots);
    ok &= check_at_most(measure_difference(&joined, &laid),
                        board->rate_hz < 22050U ? 1e-5 : 1e-6,
                        "%s, %u Hz, %g/s: difference after %zu loops",
                        take->name,
                        board->rate_hz,
                        per_s,
                        k);
    vw_sound_clear(&joined);
    vw_sound_clear(&laid);
  }
  made_clear(&made);
  vw_sound_clear(&raw);
  return ok;
}

static void
raises_every_shot_as_asked(void** state) {
  (void)state;
  static const double rates[] = {5.0, 9.0, 14.0, 20.0};
  bool                ok = true;
  for (size_t i = 0; i < sizeof(takes) / sizeof(takes[0]); ++i) {
    for (size_t j = 0; j < sizeof(boards) / sizeof(boards[0]); ++j) {
      for (size_t k = 0; k < sizeof(rates) / sizeof(rates[0]); ++k) {
        ok &= check_level(&takes[i], &boards[j], rates[k]);
        ok &= check_burst(&takes[i], &boards[j], rates[k], 3.0);
        ok &= check_burst(&takes[i], &boards[j], rates[k], 18.0);
      }
    }
  }
  assert_true(ok);
}

/// Where a shot starts.
static size_t
start_of(const VwSound* shot) {
  const double peak = measure_peak(shot);
  size_t       at = 0;
  while (fabs((double)shot->values[at]) < 0.1 * peak) {
    ++at;
  }
  return at;
}

/// Variants come up to 4 ms later: so do their kicks.
static void
starts_with_each_variant(void** state) {
  (void)state;
  VwSound         raw = take_of(&takes[0]);
  VwFamilyOptions options = options_of(&boards[0], 0.0);
  Pair            pair;
  bool            ok = true;
  options.level.gain_db = -25.0;
  options.fire_rate_per_s = 8.0;
  options.variants = 4U;
  assert_true(made_new(&raw, &options, &pair.plain));
  options.kick_db = 12.0;
  assert_true(made_new(&raw, &options, &pair.kicked));
  const size_t alone = start_of(piece_of(&pair.plain, VW_PART_SHOT));
  for (unsigned i = 0; i < pair.plain.family.plan.shots; ++i) {
    VwSound      plain = pair.plain.family.shots[i];
    VwSound      kicked = pair.kicked.family.shots[i];
    const size_t start = start_of(&plain);
    const size_t later = start > alone ? start - alone : 0U;
    plain.values += later;
    plain.n_frames -= later;
    kicked.values += later;
    kicked.n_frames -= later;
    ok &= check_at_most(fabs(raised_db(&kicked, &plain, 120.0) - 12.0),
                        0.5,
                        "shot %u, %zu frames late: off",
                        i,
                        later);
  }
  made_clear(&pair.plain);
  made_clear(&pair.kicked);
  vw_sound_clear(&raw);
  assert_true(ok);
}

int
main(void) {
  static const struct CMUnitTest tests[] = {
    cmocka_unit_test(raises_every_shot_as_asked),
    cmocka_unit_test(starts_with_each_variant),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
