// The events of a take: every shot of synthetic takes and nothing else, each
// start within a millisecond (figures of this project; the starts are known).

#include "support/check.h"
#include "support/signals.h"

#include "take/events.h"
#include "take/take.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

enum { MOST_SHOTS = 40, MOST_RAPID = 60, ECHOES = 3 };

static const double TWO_PI = 6.28318530717958648;

/// What is planted.
typedef struct {
  size_t n;
  double start_s[MOST_RAPID];
  double level[MOST_RAPID];
  double length_s;
} Planted;

static double
between(SignalRandom* random, double least, double most) {
  return least + (most - least) * signal_uniform(random);
}

static double
gain_of_db(double db) {
  return pow(10.0, db / 20.0);
}

// Starts 120 ms to 2 s apart, levels within 15 dB.
static Planted
plant(SignalRandom* random, size_t n) {
  Planted planted = {.n = n};
  double  at_s = between(random, 0.05, 0.3);
  for (size_t i = 0; i < n; ++i) {
    const double longest_s = n > 10 ? 0.6 : 2.0;
    planted.start_s[i] = at_s;
    planted.level[i] = 0.5 * gain_of_db(-between(random, 0.0, i ? 15.0 : 0.0));
    at_s += 0.12 * pow(longest_s / 0.12, signal_uniform(random));
  }
  planted.length_s = at_s + 0.5;
  return planted;
}

// Add a burst where it sounds alone: a whole take of silence takes its time.
static void
add_burst(VwSound* sound, SignalBurst burst, SignalRandom* random) {
  const size_t first = (size_t)(burst.start_s * sound->rate_hz);
  VwSound part = signal_silence(1.2 * burst.decay_s + 0.01, sound->rate_hz);
  burst.start_s -= (double)first / sound->rate_hz;
  signal_add_burst(&part, &burst, random);
  for (size_t i = 0; i < part.n_frames && first + i < sound->n_frames; ++i) {
    sound->values[first + i] += part.values[i];
  }
  vw_sound_clear(&part);
}

// A shot that has sunk 6 dB below the next at its start, with echoes at least
// 6 dB down within 60 ms.
static void
add_shot(VwSound*       sound,
         const Planted* planted,
         size_t         i,
         SignalRandom*  random) {
  const bool   last = i + 1U == planted->n;
  const double gap_s =
    last ? 1.0 : planted->start_s[i + 1U] - planted->start_s[i];
  const double next = last ? 0.001 : planted->level[i + 1U];
  // The echoes start up to 60 ms later, 6 dB lower, and add up.
  const double fall_db =
    fmax(20.0 * log10(planted->level[i] / next), 0.0) + 6.0 + 6.0;
  const double decay_s = 60.0 * (gap_s - 0.06) / fall_db;
  SignalBurst  burst = {
     .start_s = planted->start_s[i],
     .rise_s = between(random, 0.0, 0.002),
     .decay_s = fmin(decay_s * between(random, 0.5, 1.0), 2.0),
     .level = planted->level[i],
     .pitch_hz =
      signal_uniform(random) < 0.5 ? 0.0 : between(random, 200.0, 1500.0),
     .phase_turns = signal_uniform(random)};
  add_burst(sound, burst, random);
  for (size_t j = 0; j < ECHOES; ++j) {
    SignalBurst echo = burst;
    echo.start_s += between(random, 0.008, 0.060);
    echo.level *= gain_of_db(-between(random, 6.0 + 3.0 * (double)j, 20.0));
    add_burst(sound, echo, random);
  }
}

/// What was found of what was planted.
typedef struct {
  size_t n;
  size_t n_found;
  size_t n_extra;
  size_t n_late; ///< Over 1 ms off.
  double worst_ms;
} Tally;

static void
tally(const VwEvents* events,
      const Planted*  planted,
      double          rate_hz,
      Tally*          of) {
  size_t n_found = 0;
  for (size_t i = 0; i < planted->n; ++i) {
    double nearest_s = HUGE_VAL;
    for (size_t j = 0; j < events->n_events; ++j) {
      const double off_s =
        (double)events->events[j].start_frame / rate_hz - planted->start_s[i];
      nearest_s = fmin(nearest_s, fabs(off_s));
    }
    if (nearest_s < 0.03) {
      ++n_found;
      of->n_late += nearest_s > 0.001 ? 1U : 0U;
      of->worst_ms = fmax(of->worst_ms, 1000.0 * nearest_s);
    }
  }
  of->n += planted->n;
  of->n_found += n_found;
  of->n_extra += events->n_events - n_found;
}

static void
try_take(unsigned rate_hz, size_t n_shots, uint64_t seed, Tally* of) {
  SignalRandom  random = signal_random(seed);
  const Planted planted = plant(&random, n_shots);
  VwSound       sound = signal_silence(planted.length_s, rate_hz);
  VwEvents      events = {0};
  for (size_t i = 0; i < planted.n; ++i) {
    add_shot(&sound, &planted, i, &random);
  }
  signal_add_noise(&sound, 0.5 * gain_of_db(-40.0), &random);
  assert_int_equal(vw_events_find(&sound, &events), VW_OK);
  tally(&events, &planted, rate_hz, of);
  vw_events_clear(&events);
  vw_sound_clear(&sound);
}

static void
test_every_shot(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {8000, 44100, 96000};
  bool                  ok = true;
  for (size_t r = 0; r < 3; ++r) {
    Tally of = {0};
    for (size_t n = 1; n <= MOST_SHOTS; n += 1 + n / 2) {
      try_take(rates_hz[r], n, 100 * r + n, &of);
    }
    ok &= check_equal(
      (double)of.n_found, (double)of.n, "%u Hz: found", rates_hz[r]);
    ok &= check_equal((double)of.n_extra, 0.0, "%u Hz: extra", rates_hz[r]);
    ok &= check_at_most(of.worst_ms,
                        1.0,
                        "%u Hz: start, ms off, %zu over 1 of %zu",
                        rates_hz[r],
                        of.n_late,
                        of.n);
  }
  assert_true(ok);
}

/// A shot: its tone glides down from `from_hz` to `to_hz`, most of it within
/// `glide_s`; or it clicks, if it does not glide.
typedef struct {
  double from_hz, to_hz, glide_s;
  double rise_s, decay_s;
} Voice;

static void
add_voice(VwSound*      sound,
          const Voice*  voice,
          double        at_s,
          double        level,
          SignalRandom* random) {
  const double rate_hz = sound->rate_hz;
  const double span_hz = voice->from_hz - voice->to_hz;
  const size_t from = (size_t)ceil(at_s * rate_hz);
  const size_t to = from + (size_t)(voice->decay_s * rate_hz);
  for (size_t i = from; i < to && i < sound->n_frames; ++i) {
    const double s = (double)i / rate_hz - at_s;
    const double glided = voice->glide_s * (1.0 - exp(-s / voice->glide_s));
    const double turns = voice->to_hz * s + span_hz * glided;
    const double rise =
      voice->rise_s > 0.0 ? fmin(s / voice->rise_s, 1.0) : 1.0;
    sound->values[i] += (float)(level * rise * sin(TWO_PI * turns) *
                                pow(0.001, s / voice->decay_s));
  }
  if (span_hz <= 0.0) {
    const SignalBurst click = {
      .start_s = at_s, .decay_s = 0.006, .level = level};
    add_burst(sound, click, random);
  }
}

/// Nine shots of one voice, each 6 to 20 dB louder than what rings of the one
/// before at its start, with an echo 8 dB down or more.
static void
try_voice(bool glides, double longest_s, uint64_t seed, Tally* of) {
  SignalRandom random = signal_random(1000003U * seed + 29U);
  Planted      planted = {.n = 9U};
  double       at_s = 0.1;
  double       level_db = 0.0;
  VwSound      sound = signal_silence(4.5, seed % 2U ? 22050 : 44100);
  VwEvents     events = {0};
  Voice        voice = {.to_hz = between(&random, 150.0, 600.0),
                        .glide_s = between(&random, 0.02, 0.1),
                        .rise_s = between(&random, 0.0, 0.002),
                        .decay_s = between(&random, 0.2, 0.5)};
  voice.from_hz = glides ? between(&random, 1000.0, 4000.0) : voice.to_hz;
  for (size_t i = 0; i < planted.n; ++i) {
    const double level = 0.4 * gain_of_db(level_db);
    const double echo = level * gain_of_db(-between(&random, 8.0, 12.0));
    planted.start_s[i] = at_s;
    add_voice(&sound, &voice, at_s, level, &random);
    add_voice(
      &sound, &voice, at_s + between(&random, 0.008, 0.060), echo, &random);
    const double gap_s = between(&random, 0.12, longest_s);
    // The echo, which starts up to 60 ms later, adds 5 dB at most.
    const double rings_db = level_db - 60.0 * gap_s / voice.decay_s + 5.0;
    level_db = fmax(fmin(rings_db + between(&random, 6.0, 20.0), 0.0), -15.0);
    at_s += gap_s;
  }
  signal_add_noise(&sound, 0.004, &random);
  assert_int_equal(vw_events_find(&sound, &events), VW_OK);
  tally(&events, &planted, sound.rate_hz, of);
  vw_events_clear(&events);
  vw_sound_clear(&sound);
}

// What glides from one band to the next is no attack, a weak shot among many is
// no swell of them, and what is nearly even is not all of its shots (measured).
static void
test_voices(void** state) {
  (void)state;
  bool ok = true;
  for (size_t k = 0; k < 4; ++k) {
    const char* const what = k % 2 ? "gliding" : "clicking";
    Tally             of = {0};
    for (uint64_t seed = 0; seed < 40; ++seed) {
      try_voice(k % 2 == 1, k < 2 ? 0.45 : 0.2, 100 * k + seed, &of);
    }
    ok &= check_at_most(
      (double)(of.n - of.n_found), 1.0, "%s: missed of %zu", what, of.n);
    ok &= check_at_most((double)of.n_extra, 3.0, "%s: extra", what);
    ok &= check_at_most((double)of.n_late, 1.0, "%s: over 1 ms off", what);
  }
  assert_true(ok);
}

/* What was not planted for its shots */

static VwEvents
found_in(VwSound* sound) {
  VwEvents events = {0};
  assert_int_equal(vw_events_find(sound, &events), VW_OK);
  vw_sound_clear(sound);
  return events;
}

/// Whether every figure is one, and every place lies in the sound, in order.
static bool
is_sound(const VwEvents* events, size_t n_frames) {
  size_t before = 0;
  bool ok = events->n_events > 0 && events->sure >= 0.0 && events->sure <= 1.0;
  for (size_t i = 0; i < events->n_events; ++i) {
    const VwEvent* const event = &events->events[i];
    ok &= event->start_frame >= before;
    ok &= event->start_frame <= event->crest_frame;
    ok &= event->crest_frame < event->end_frame;
    ok &= event->end_frame <= n_frames;
    ok &= isfinite(event->rise_db) && isfinite(event->level_db);
    ok &= isfinite(event->step_db) && isfinite(event->dip_db) == (i > 0);
    before = event->start_frame;
  }
  return ok;
}

static VwSound
clicks(double seconds, size_t n, double apart_s) {
  SignalRandom random = signal_random(3);
  VwSound      sound = signal_silence(seconds, 22050);
  for (size_t i = 0; i < n; ++i) {
    const SignalBurst burst = {
      .start_s = 0.1 + apart_s * (double)i, .decay_s = 0.05, .level = 0.4};
    add_burst(&sound, burst, &random);
  }
  return sound;
}

// A thousand shots, two that are one, silence with a click, 5 ms, a minute of
// nothing but hum: each is called what it is (closed form).
static void
test_odd(void** state) {
  (void)state;
  enum { HUM, CLICK, SHORT, SHORTEST, NEAR, THOUSAND, UNEVEN, N_ODD };
  static const struct {
    VwKind kind;
    size_t n;
  } wanted[N_ODD] = {{VW_KIND_SUSTAINED, 1},
                     {VW_KIND_SHOT, 1},
                     {VW_KIND_SHOT, 1},
                     {VW_KIND_SHOT, 1},
                     {VW_KIND_SHOT, 1},
                     {VW_KIND_RAPID_FIRE, 1000},
                     {VW_KIND_SEVERAL_SHOTS, 2}};
  SignalRandom random = signal_random(5);
  VwSound      sounds[N_ODD] = {[HUM] = signal_silence(60.0, 8000),
                                [CLICK] = signal_silence(2.0, 44100),
                                [SHORT] = signal_silence(0.005, 44100),
                                [SHORTEST] = signal_silence(0.005, 4000),
                                [NEAR] = clicks(1.0, 2, 0.010),
                                [THOUSAND] = clicks(100.2, 1000, 0.1),
                                [UNEVEN] = clicks(1.0, 2, 0.5)};
  bool         ok = true;
  signal_add_tone(&sounds[HUM], 120.0, 0.3, 0.0);
  signal_add_click(&sounds[CLICK], 1.0, 0.5);
  signal_add_noise(&sounds[SHORT], 0.1, &random);
  signal_add_noise(&sounds[SHORTEST], 0.1, &random);
  for (size_t i = 0; i < N_ODD; ++i) {
    const size_t n_frames = sounds[i].n_frames;
    VwEvents     events = found_in(&sounds[i]);
    ok &= check_that(is_sound(&events, n_frames), "odd %zu: all in order", i);
    ok &= check_equal(events.kind, wanted[i].kind, "odd %zu: kind", i);
    ok &= check_equal(
      (double)events.n_events, (double)wanted[i].n, "odd %zu: events", i);
    vw_events_clear(&events);
  }
  assert_true(ok);
}

/// Four clicks 0.4 s apart, the first on the first frame, the last with so much
/// silence behind it.
typedef struct {
  double click_s;
  double noise; ///< Of what is silent.
  double silent_s;
  size_t n;
} Edge;

// A click counts up to the end of a sound that ends in silence, and from its
// first frame on. Of a sound that is cut off while it sounds the last 12 ms do
// not count (closed form).
static void
test_edges(void** state) {
  (void)state;
  static const Edge     edges[] = {{0.0, 0.0, 0.001, 4},
                                   {0.0, 0.0, 0.2, 4},
                                   {0.0005, 0.0, 0.001, 4},
                                   {0.001, 0.0, 0.1, 4},
                                   {0.001, 0.001, 0.002, 4},
                                   {0.003, 0.0, 0.006, 4},
                                   {0.005, 0.0, 0.001, 4},
                                   {0.005, 0.0005, 0.004, 4},
                                   {0.0, 0.0, 0.0, 3},
                                   {0.001, 0.0, 0.0, 3},
                                   {0.010, 0.0, 0.0, 3}};
  static const unsigned rates_hz[] = {8000, 44100, 96000};
  bool                  ok = true;
  for (size_t k = 0; k < 3 * sizeof(edges) / sizeof(edges[0]); ++k) {
    const Edge* const of = &edges[k / 3];
    const unsigned    rate_hz = rates_hz[k % 3];
    const size_t      n_click = 1U + (size_t)(of->click_s * (double)rate_hz);
    const size_t      last = (size_t)(1.2 * (double)rate_hz);
    const size_t      n_silent = (size_t)ceil(of->silent_s * (double)rate_hz);
    SignalRandom      random = signal_random(k);
    VwSound           sound = signal_silence(1.5, rate_hz);
    sound.n_frames = last + n_click + n_silent;
    signal_add_noise(&sound, of->noise, &random);
    for (size_t i = 0; i < 4 * n_click; ++i) {
      sound.values[i / n_click * last / 3U + i % n_click] =
        i % 2 ? -0.4F : 0.5F;
    }
    VwEvents events = found_in(&sound);
    ok &= check_equal((double)events.n_events,
                      (double)of->n,
                      "%u Hz, edge %zu: clicks",
                      rate_hz,
                      k / 3);
    for (size_t i = 0; i < of->n && i < events.n_events; ++i) {
      ok &= check_at_most(
        fabs((double)events.events[i].start_frame / rate_hz - 0.4 * (double)i),
        0.001,
        "%u Hz, edge %zu: start %zu, s off",
        rate_hz,
        k / 3,
        i);
    }
    vw_events_clear(&events);
  }
  assert_true(ok);
}

// The same in every channel, or in one of eight: the same events.
static void
test_channels(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned only = 0; only < 3; ++only) {
    VwSound mono = clicks(2.0, 4, 0.37);
    VwSound all = {0};
    assert_int_equal(vw_sound_init(&all, mono.n_frames, 8, mono.rate_hz),
                     VW_OK);
    for (size_t i = 0; i < 8 * mono.n_frames; ++i) {
      const bool there = !only || i % 8 == 3 * only;
      all.values[i] = there ? mono.values[i / 8] : 0.0F;
    }
    VwEvents one = found_in(&mono);
    VwEvents eight = found_in(&all);
    ok &= check_equal((double)eight.n_events, 4.0, "%u: events", only);
    for (size_t i = 0; i < 4 && i < eight.n_events; ++i) {
      ok &= check_equal((double)eight.events[i].start_frame,
                        (double)one.events[i].start_frame,
                        "%u: start %zu",
                        only,
                        i);
    }
    vw_events_clear(&one);
    vw_events_clear(&eight);
  }
  assert_true(ok);
}

// Three shots with the same rough tail, whose second swell is as loud as the
// attack, are three (closed form).
static void
test_swells(void** state) {
  (void)state;
  static const double start_s[] = {0.4, 1.93, 3.31};
  static const double swell_s[] = {0.0, 0.039, 0.33, 0.47};
  static const double level[] = {0.4, 0.4, 0.14, 0.1};
  static const double decay_s[] = {0.2, 1.6, 1.6, 1.6};
  SignalRandom        random = signal_random(11);
  VwSound             sound = signal_silence(4.5, 22050);
  bool                ok = true;
  for (size_t i = 0; i < 12; ++i) {
    const SignalBurst burst = {.start_s = start_s[i / 4] + swell_s[i % 4],
                               .rise_s = 0.001,
                               .decay_s = decay_s[i % 4],
                               .level = level[i % 4]};
    add_burst(&sound, burst, &random);
  }
  signal_add_noise(&sound, 2e-4, &random);
  VwEvents events = found_in(&sound);
  ok &= check_equal(events.kind, VW_KIND_SEVERAL_SHOTS, "swells: kind");
  ok &= check_equal((double)events.n_events, 3.0, "swells: shots");
  for (size_t i = 0; ok && i < 3; ++i) {
    ok &= check_at_most(
      fabs((double)events.events[i].start_frame / 22050.0 - start_s[i]),
      0.001,
      "swells: start %zu, s off",
      i);
  }
  vw_events_clear(&events);
  assert_true(ok);
}

// Three bursts of three shots each, 80 ms apart, are nine shots.
static void
test_bursts(void** state) {
  (void)state;
  SignalRandom random = signal_random(12);
  VwSound      sound = signal_silence(2.5, 22050);
  for (size_t i = 0; i < 9; ++i) {
    const double at_s = 0.3 + 0.7 * (double)(i / 3) + 0.08 * (double)(i % 3);
    const SignalBurst burst = {.start_s = at_s, .decay_s = 0.6, .level = 0.4};
    add_burst(&sound, burst, &random);
  }
  VwEvents events = found_in(&sound);
  assert_true(check_equal((double)events.n_events, 9.0, "bursts: shots"));
  vw_events_clear(&events);
}

/* Rapid fire */

/// A line through what was planted.
static double
planted_rate(const Planted* planted) {
  const double n = (double)planted->n;
  double       k = 0.0, t = 0.0, kk = 0.0, kt = 0.0;
  for (size_t i = 0; i < planted->n; ++i) {
    k += (double)i;
    t += planted->start_s[i];
    kk += (double)(i * i);
    kt += (double)i * planted->start_s[i];
  }
  return (n * kk - k * k) / (n * kt - k * t);
}

/// 5 to 60 shots at 4 to 30 per second, jitter up to 3 ms RMS, levels within
/// 6 dB, each sunk by 8 to 30 dB at the next.
static Planted
plant_rapid(SignalRandom* random, VwSound* sound) {
  static const unsigned rates_hz[] = {8000, 22050, 44100, 96000};
  const double          per_s = 4.0 * pow(7.5, signal_uniform(random));
  const double          jitter_s = between(random, 0.0, 0.003);
  const double          fall_db = between(random, 8.0, 30.0);
  const double          pitch_hz =
    signal_uniform(random) < 0.5 ? 0.0 : between(random, 200.0, 1500.0);
  const double first_s = between(random, 0.05, 0.4);
  Planted      planted = {.n = 5U + (size_t)between(random, 0.0, 55.9)};
  *sound = signal_silence(first_s + (double)planted.n / per_s + 0.3,
                          rates_hz[(size_t)between(random, 0.0, 3.99)]);
  for (size_t i = 0; i < planted.n; ++i) {
    planted.start_s[i] =
      first_s + (double)i / per_s + jitter_s * signal_normal(random);
    const SignalBurst burst = {.start_s = planted.start_s[i],
                               .rise_s = 0.001,
                               .decay_s = 60.0 / per_s / fall_db,
                               .level =
                                 0.4 * gain_of_db(between(random, -3.0, 3.0)),
                               .pitch_hz = pitch_hz,
                               .phase_turns = signal_uniform(random)};
    add_burst(sound, burst, random);
  }
  signal_add_noise(sound, 0.004, random);
  return planted;
}

// It is called rapid fire, its rate within 0.3 % of the line through what was
// planted, and its uncertainty true in 95 of 100 (figures of this project).
static void
test_rapid(void** state) {
  (void)state;
  enum { N = 100 };
  size_t n_right = 0;
  size_t n_true = 0;
  for (uint64_t seed = 0; seed < N; ++seed) {
    SignalRandom  random = signal_random(1000003U * (1400 + seed) + 17U);
    VwSound       sound;
    const Planted planted = plant_rapid(&random, &sound);
    const double  wanted = planted_rate(&planted);
    VwEvents      events = found_in(&sound);
    const double  off = fabs(events.rapid.fire_rate_per_s - wanted);
    n_right +=
      events.kind == VW_KIND_RAPID_FIRE && off <= 0.003 * wanted ? 1U : 0U;
    n_true += off <= events.rapid.uncertainty_per_s ? 1U : 0U;
    vw_events_clear(&events);
  }
  bool ok = check_at_least((double)n_right, 0.99 * N, "rapid fire: right");
  ok &= check_at_least((double)n_true, 0.95 * N, "rapid fire: true");
  assert_true(ok);
}

/// 12 shots of noise that rise for 5 to 40 ms, at 4 to 14 per second, jitter up
/// to 2 ms RMS; in every other take a sixth swells once more within its period.
static Planted
plant_slow(SignalRandom* random, size_t take, VwSound* sound) {
  static const double rises_s[] = {0.005, 0.010, 0.020, 0.030, 0.040};
  static const double rates_per_s[] = {4.0, 6.0, 9.0, 11.0, 14.0};
  const double        rise_s = rises_s[take % 5];
  const double        per_s = rates_per_s[take / 5 % 5];
  const double        jitter_s = 0.001 * (double)(take % 3);
  Planted             planted = {.n = 12};
  *sound = signal_silence(13.0 / per_s + 0.3, 44100);
  for (size_t i = 0; i < planted.n; ++i) {
    planted.start_s[i] =
      0.2 + (double)i / per_s + jitter_s * signal_normal(random);
    SignalBurst burst = {.start_s = planted.start_s[i],
                         .rise_s = rise_s,
                         .decay_s = 3.0 * (1.0 / per_s - 0.5 * rise_s),
                         .level = 0.3 * gain_of_db(between(random, -1.5, 0.0))};
    add_burst(sound, burst, random);
    if (take % 2 && i == 5) {
      burst.start_s += 0.36 / per_s;
      burst.rise_s = 0.002;
      burst.level *= 0.7;
      add_burst(sound, burst, random);
    }
  }
  signal_add_noise(sound, 3e-4, random);
  return planted;
}

// What rings of the one before does not hide where a slow attack starts, and
// nothing between two shots is one.
static void
test_slow_attacks(void** state) {
  (void)state;
  bool ok = true;
  // The last, 40 ms at 14 per second, is one sound.
  for (size_t take = 0; take < 24; ++take) {
    SignalRandom        random = signal_random(1000003U * take + 5U);
    VwSound             sound;
    const Planted       planted = plant_slow(&random, take, &sound);
    VwEvents            events = found_in(&sound);
    const VwFindOptions said = {.has_kind = true, .kind = VW_KIND_RAPID_FIRE};
    vw_events_overrule(&said, &events);
    double worst_ms = 0.0;
    ok &= check_equal((double)events.n_events, 12.0, "take %zu: shots", take);
    for (size_t i = 0; i < planted.n && i < events.n_events; ++i) {
      const double start_s = (double)events.events[i].start_frame / 44100.0;
      worst_ms = fmax(worst_ms, 1000.0 * fabs(start_s - planted.start_s[i]));
    }
    ok &= check_at_most(worst_ms, 2.0, "take %zu: start, ms off", take);
    vw_events_clear(&events);
  }
  assert_true(ok);
}

/// A shot that rises until the next chokes it over 5 ms.
static void
add_choked(VwSound*           sound,
           double             at_s,
           double             length_s,
           const SignalBurst* burst,
           SignalRandom*      random) {
  const size_t first = (size_t)(at_s * sound->rate_hz);
  VwSound      part = signal_silence(length_s, sound->rate_hz);
  signal_add_burst(&part, burst, random);
  for (size_t i = 0; i < part.n_frames && first + i < sound->n_frames; ++i) {
    const double left_s = (double)(part.n_frames - i) / sound->rate_hz;
    const double gain = fmin(left_s / 0.005, 1.0);
    sound->values[first + i] += (float)(gain * (double)part.values[i]);
  }
  vw_sound_clear(&part);
}

/// Up to 15 shots that swell for 20 to 100 ms, at 12 to 30 per second, jitter
/// up to a fifth of the period.
static VwSound
choked_swells(SignalRandom* random) {
  const double      per_s = between(random, 12.0, 30.0);
  const size_t      n = 5U + (size_t)between(random, 0.0, 10.9);
  const double      level = between(random, 0.2, 0.6);
  VwSound           sound = signal_silence((double)n / per_s + 0.5, 44100);
  const SignalBurst burst = {.rise_s = between(random, 0.02, 0.1),
                             .decay_s = 1.0,
                             .level = level,
                             .pitch_hz = signal_uniform(random) < 0.5
                                           ? 0.0
                                           : between(random, 200.0, 900.0)};
  for (size_t i = 0; i < n; ++i) {
    const double at_s = 0.2 + ((double)i + between(random, -0.2, 0.2)) / per_s;
    add_choked(&sound, at_s, 1.0 / per_s, &burst, random);
  }
  signal_add_noise(&sound, 1e-4, random);
  return sound;
}

// Wherever its start and the next are moved to, a shot's crest lies between
// its start and its end, in the events and in what is found of each.
static void
test_crests(void** state) {
  (void)state;
  const VwFindOptions plain = vw_find_defaults();
  bool                ok = true;
  for (uint64_t seed = 0; seed < 60; ++seed) {
    SignalRandom random = signal_random(1000003U * seed + 91U);
    VwSound      sound = choked_swells(&random);
    VwTake       take = {0};
    VwEvents     events = {0};
    VwShotFacts  facts[MOST_RAPID];
    assert_int_equal(vw_take_prepare(&sound, &take), VW_OK);
    assert_int_equal(vw_events_find(&take.sound, &events), VW_OK);
    assert_int_equal(vw_find_each(&take, &plain, &events, facts), VW_OK);
    ok &= check_that(is_sound(&events, sound.n_frames),
                     "seed %u: events in order",
                     (unsigned)seed);
    const size_t n = vw_events_are_shots(&events) ? events.n_events : 1U;
    for (size_t i = 0; i < n; ++i) {
      ok &= check_that(facts[i].attack_frame <= facts[i].crest_frame &&
                         facts[i].crest_frame < facts[i].end_frame,
                       "seed %u: shot %zu: its crest is in it",
                       (unsigned)seed,
                       i + 1U);
    }
    vw_events_clear(&events);
    vw_take_clear(&take);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

// What lies off a line between two of its places is part of the shot before.
static void
test_off_the_line(void** state) {
  (void)state;
  VwEvent  all[7] = {{.start_frame = 700, .end_frame = 739},
                     {.start_frame = 739, .end_frame = 812, .level_db = 1.0}};
  VwEvents events = {.events = all, .n_events = 7};
  for (size_t i = 2; i < 7; ++i) {
    all[i].start_frame = 700 + 110 * (i - 1) + i % 2;
  }
  const VwFindOptions said = {.has_kind = true, .kind = VW_KIND_RAPID_FIRE};
  vw_rapid_find(all, 7, 1000, &events.rapid);
  vw_events_overrule(&said, &events);
  assert_int_equal(events.n_events, 6);
  assert_int_equal(all[0].end_frame, 812);
  assert_int_equal(all[1].start_frame, 810);
}

// A tone or a noise that trembles, 4 to 25 times per second and by 6 to 12 dB,
// stays one sound: it rises no faster than it falls.
static void
test_trembling(void** state) {
  (void)state;
  static const double times_per_s[] = {4.0, 9.0, 14.0, 19.0, 25.0};
  static const double depths_db[] = {6.0, 9.0, 12.0};
  bool                ok = true;
  for (size_t i = 0; i < 30; ++i) {
    SignalRandom random = signal_random(1000003U * i);
    VwSound      sound = signal_silence(2.0, 22050);
    const double low = gain_of_db(-depths_db[i / 2 % 3]);
    const double turns = TWO_PI * times_per_s[i / 6];
    signal_add_noise(&sound, i % 2 ? 0.2 : 2e-4, &random);
    if (i % 2 == 0) {
      signal_add_tone(&sound, 440.0, 0.4, 0.0);
    }
    for (size_t k = 0; k < sound.n_frames; ++k) {
      const double swell = 0.5 + 0.5 * sin(turns * (double)k / sound.rate_hz);
      sound.values[k] *= (float)(low + (1.0 - low) * swell);
    }
    VwEvents events = found_in(&sound);
    ok &= check_equal(events.kind,
                      VW_KIND_SUSTAINED,
                      "%s, %g/s by %g dB",
                      i % 2 ? "noise" : "tone",
                      times_per_s[i / 6],
                      depths_db[i / 2 % 3]);
    vw_events_clear(&events);
  }
  assert_true(ok);
}

/// A sound that goes on: tones with so many harmonics, or else noise.
typedef struct {
  double   tones_hz[3];
  unsigned harmonics;
  double   trembles_per_s;
  double   depth;
  bool     is_square;  ///< Of the first tone.
  bool     is_doubted; ///< May be called another kind, if that is in doubt.
} Beating;

static VwSound
beating(const Beating* of, uint64_t seed) {
  SignalRandom random = signal_random(1000003U * seed);
  VwSound      sound = signal_silence(1.6, 44100);
  const double n = (double)sound.n_frames;
  for (size_t i = 0; i < 3 && of->tones_hz[i] > 0.0; ++i) {
    for (unsigned h = 1; h <= of->harmonics; ++h) {
      const double hz = h * of->tones_hz[i];
      signal_add_tone(&sound, hz, 0.15 / h, signal_uniform(&random));
    }
  }
  if (of->tones_hz[0] <= 0.0) {
    signal_add_noise(&sound, 0.1, &random);
  }
  for (size_t k = 0; k < sound.n_frames; ++k) {
    const double s = (double)k / sound.rate_hz;
    const double edge = fmin(s / 0.05, (n - (double)k) / n * 8.0);
    const double swell = sin(TWO_PI * of->trembles_per_s * s);
    float* const value = &sound.values[k];
    *value = of->is_square ? copysignf(0.2F, *value) : *value;
    *value *= (float)(fmin(edge, 1.0) * (1.0 + of->depth * swell));
  }
  return sound;
}

// Tones that beat, chords, organs, square waves, tremolos: no shots, though
// their bands rise again and again (figures of this project).
static void
test_beating(void** state) {
  (void)state;
  static const Beating sounds[] = {
    {{400.0, 410.0}, 1, 0.0, 0.0, false, false},
    {{500.0, 512.0}, 1, 0.0, 0.0, false, false},
    {{1000.0, 1015.0}, 1, 0.0, 0.0, false, false},
    {{311.0, 331.0}, 1, 0.0, 0.0, false, false},
    {{800.0, 830.0}, 1, 0.0, 0.0, false, false},
    {{150.0, 190.0}, 1, 0.0, 0.0, false, false},
    {{900.0, 947.0}, 1, 0.0, 0.0, false, false},
    {{311.0, 370.0}, 1, 0.0, 0.0, false, false},
    {{311.0, 381.0}, 1, 0.0, 0.0, false, false},
    {{500.0, 600.0}, 1, 0.0, 0.0, false, false},
    {{60.0, 75.0, 120.0}, 1, 0.0, 0.0, false, false},
    {{82.0, 122.8}, 1, 0.0, 0.0, false, false},
    {{220.0, 261.6, 329.6}, 1, 0.0, 0.0, false, false},
    {{165.0, 207.9, 247.2}, 1, 0.0, 0.0, false, false},
    {{196.0, 207.8, 219.9}, 1, 0.0, 0.0, false, true},
    {{82.0, 103.3, 122.8}, 7, 0.0, 0.0, false, false},
    {{196.0, 207.8, 219.9}, 7, 0.0, 0.0, false, true},
    {{20.0}, 1, 0.0, 0.0, true, false},
    {{22.0}, 1, 0.0, 0.0, true, false},
    {{34.0}, 1, 0.0, 0.0, true, false},
    {{330.0}, 1, 8.0, 0.8, false, false},
    {{330.0}, 1, 12.0, 0.8, false, false},
    {{330.0}, 1, 20.0, 1.0, false, false},
    {{0.0}, 0, 8.0, 0.8, false, false},
    {{0.0}, 0, 14.0, 1.0, false, false},
    {{0.0}, 0, 18.0, 0.8, false, false}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(sounds) / sizeof(sounds[0]); ++i) {
    VwSound    sound = beating(&sounds[i], i);
    VwEvents   events = found_in(&sound);
    const bool doubted = sounds[i].is_doubted && events.sure < VW_SURE_LEAST &&
                         events.other_kind == VW_KIND_SUSTAINED;
    ok &= check_that(events.kind == VW_KIND_SUSTAINED || doubted,
                     "sound %zu: %s, sure %.2f",
                     i,
                     vw_kind_name(events.kind),
                     events.sure);
    vw_events_clear(&events);
  }
  assert_true(ok);
}

// Nine clicks with tails of 300 ms and echoes, 120 to 200 ms apart: most are
// even enough for rapid fire, and echoes off its line are no shots of it (some
// lie on it).
static void
test_echoes_of_fire(void** state) {
  (void)state;
  Tally of = {0};
  for (size_t k = 0; k < 100U; ++k) {
    SignalRandom random = signal_random(100000U * k);
    VwSound      sound = signal_silence(2.4, 22050);
    VwEvents     events = {0};
    Planted      planted = {.n = 9U};
    double       at_s = 0.1;
    for (size_t i = 0; i < planted.n; ++i) {
      const double      level = 0.4 * gain_of_db(-between(&random, 0.0, 3.0));
      const SignalBurst click = {
        .start_s = at_s, .decay_s = 0.006, .level = level};
      SignalBurst tail = {.start_s = at_s,
                          .decay_s = 0.3,
                          .level = 0.7 * level,
                          .pitch_hz = between(&random, 300.0, 1500.0)};
      SignalBurst echo = click;
      add_burst(&sound, click, &random);
      add_burst(&sound, tail, &random);
      const double later_s = between(&random, 0.03, 0.06);
      const double softer = gain_of_db(-between(&random, 6.0, 9.0));
      echo.start_s += later_s;
      echo.level *= softer;
      tail.start_s += later_s;
      tail.level *= softer;
      add_burst(&sound, echo, &random);
      add_burst(&sound, tail, &random);
      planted.start_s[i] = at_s;
      at_s += between(&random, 0.12, 0.2);
    }
    signal_add_noise(&sound, 0.001, &random);
    assert_int_equal(vw_events_find(&sound, &events), VW_OK);
    tally(&events, &planted, sound.rate_hz, &of);
    vw_events_clear(&events);
    vw_sound_clear(&sound);
  }
  bool ok = check_at_most((double)of.n_extra, 15.0, "extra");
  ok &= check_at_least((double)of.n_found, 0.98 * (double)of.n, "found");
  assert_true(ok);
}

// A buzz is no rapid fire, though every so many of its pulses are stronger.
static void
test_buzzes(void** state) {
  (void)state;
  static const struct {
    double per_s;
    size_t every;
  } buzzes[] = {{40.0, 4}, {40.0, 5}, {42.0, 5}, {44.0, 5}, {44.0, 6}};
  bool ok = true;
  for (size_t i = 0; i < sizeof(buzzes) / sizeof(buzzes[0]); ++i) {
    VwSound      sound = signal_silence(3.0, 44100);
    SignalRandom random = signal_random(i + 1U);
    VwEvents     events = {0};
    signal_add_noise(&sound, 0.06, &random);
    for (size_t k = 0; k < sound.n_frames; ++k) {
      const double at = (double)k / 44100.0 * buzzes[i].per_s;
      const double level = (size_t)at % buzzes[i].every ? 1.0 : 2.2;
      sound.values[k] *= (float)(level * exp(-4.0 * (at - floor(at))));
    }
    assert_int_equal(vw_events_find(&sound, &events), VW_OK);
    ok &= check_equal(events.kind,
                      VW_KIND_SUSTAINED,
                      "%g per second, each %zu",
                      buzzes[i].per_s,
                      buzzes[i].every);
    vw_events_clear(&events);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_shot),
    cmocka_unit_test(test_voices),
    cmocka_unit_test(test_odd),
    cmocka_unit_test(test_edges),
    cmocka_unit_test(test_channels),
    cmocka_unit_test(test_swells),
    cmocka_unit_test(test_bursts),
    cmocka_unit_test(test_rapid),
    cmocka_unit_test(test_slow_attacks),
    cmocka_unit_test(test_crests),
    cmocka_unit_test(test_off_the_line),
    cmocka_unit_test(test_trembling),
    cmocka_unit_test(test_beating),
    cmocka_unit_test(test_echoes_of_fire),
    cmocka_unit_test(test_buzzes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
