// The events of a take: every shot of synthetic takes and nothing else, each
// start within a millisecond (figures of this project; the starts are known).

#include "support/check.h"
#include "support/signals.h"

#include "take/events.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>

enum { MOST_SHOTS = 40, ECHOES = 3 };

/// What is planted.
typedef struct {
  size_t n;
  double start_s[MOST_SHOTS];
  double level[MOST_SHOTS];
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

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_shot),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
