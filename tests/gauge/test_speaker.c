// Simulated speakers, gauged: what was put into them is found, what is cut
// evens them out, and recordings that cannot be trusted are known.

#include "gauge/speaker/speaker.h"
#include "support/check.h"
#include "support/speakers.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RATE_HZ = 48000 };

// What is found takes too much room for a stack.
static VwSweepHeard    heard[2];
static VwSpeakerGauged gauged[2];

static VwSound test_sound;

static int
set_up(void** state) {
  (void)state;
  return vw_sweep_test_make(RATE_HZ, 1U, &test_sound) ? 1 : 0;
}

static int
tear_down(void** state) {
  (void)state;
  vw_sound_clear(&test_sound);
  return 0;
}

/// Record a speaker and gauge it.
static void
gauge(const Speaker* speaker, bool transducer, unsigned at) {
  VwSound recorded = speakers_recorded(speaker, &test_sound);
  assert_int_equal(vw_sweep_hear(&recorded, &heard[at]), VW_OK);
  vw_sound_clear(&recorded);
  assert_int_equal(heard[at].missing, VW_SWEEP_FOUND);
  assert_int_equal(vw_speaker_gauge(&heard[at], 1U, transducer, &gauged[at]),
                   VW_OK);
}

/// A speaker of second to fourth order from 150 to 900 Hz, with up to `most`
/// resonances of 6 to `high_db`.
static Speaker
any_speaker(unsigned seed, unsigned most, double high_db) {
  Speaker speaker = {.noise_db = 40.0, .ppm = 100.0, .seed = seed};
  speaker.corner_hz = 150.0 * pow(6.0, speakers_random(&seed));
  speaker.order = 2U + (unsigned)(3.0 * speakers_random(&seed));
  speaker.n_peaks = (unsigned)((most + 1.0) * speakers_random(&seed));
  const double span = log(8000.0 / (1.4 * speaker.corner_hz));
  for (unsigned i = 0; i < speaker.n_peaks; ++i) {
    const double part =
      (i + 0.15 + 0.7 * speakers_random(&seed)) / speaker.n_peaks;
    speaker.peaks[i] =
      (SpeakerPeak){1.4 * speaker.corner_hz * exp(part * span),
                    6.0 + (high_db - 6.0) * speakers_random(&seed),
                    3.0 + 5.0 * speakers_random(&seed)};
  }
  return speaker;
}

static unsigned
n_of(unsigned some, unsigned all) {
  return getenv("VOLLEYWEAVE_WHOLE_SWEEPS") ? all : some;
}

static bool
check_found(const Speaker* speaker, unsigned seed) {
  bool ok = check_at_most(fabs(gauged[0].corner_hz / speaker->corner_hz - 1.0),
                          0.05,
                          "corner, speaker %u",
                          seed);
  ok &= check_at_most(fabs(gauged[0].slope_db - 6.02 * speaker->order),
                      1.0,
                      "slope, speaker %u",
                      seed);
  ok &= check_at_most(fabs(heard[0].ppm - 100.0), 5.0, "ppm, %u", seed);
  ok &= check_at_most(gauged[0].doubts, 0.0, "doubts, speaker %u", seed);
  ok &= check_equal(
    (double)gauged[0].n_resonances, speaker->n_peaks, "speaker %u", seed);
  for (unsigned i = 0; ok && i < speaker->n_peaks; ++i) {
    const VwResonance* const at = &gauged[0].resonances[i];
    ok &= check_at_most(fabs(at->hz / speaker->peaks[i].hz - 1.0),
                        0.03,
                        "resonance %u of speaker %u",
                        i,
                        seed);
    ok &= check_at_most(fabs(at->db - speaker->peaks[i].db),
                        1.5,
                        "its height, resonance %u of speaker %u",
                        i,
                        seed);
  }
  return ok;
}

// Noise 40 dB down, a clock that is 100 ppm off.
static void
test_found(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned seed = 1; seed <= n_of(8U, 300U); ++seed) {
    const Speaker speaker = any_speaker(7U * seed, 4U, 15.0);
    gauge(&speaker, false, 0);
    ok &= check_found(&speaker, seed);
    // The response itself, where noise does not hide it.
    for (size_t i = 0; i < gauged[0].n_fine; ++i) {
      const double hz = gauged[0].fine[i].hz;
      const double db = heard[0].fine[i].db - speakers_db(&speaker, hz) + 12.04;
      ok &= hz < speaker.corner_hz || hz > 12000.0 ||
            check_at_most(fabs(db), 1.0, "speaker %u at %.0f Hz", seed, hz);
    }
  }
  assert_true(ok);
}

// A coil that takes the highs moves no corner.
static void
test_coil(void** state) {
  (void)state;
  static const double corners_hz[] = {153.0, 220.0, 300.0, 717.0};
  bool                ok = true;
  for (size_t i = 0; i < 4U; ++i) {
    const Speaker speaker = {.corner_hz = corners_hz[i],
                             .order = 2U,
                             .coil_hz = 12000.0,
                             .noise_db = 40.0};
    gauge(&speaker, false, 0);
    ok &= check_at_most(fabs(gauged[0].corner_hz / corners_hz[i] - 1.0),
                        0.02,
                        "corner of %.0f Hz",
                        corners_hz[i]);
    ok &= check_equal(
      (double)gauged[0].n_resonances, 0.0, "resonances, %.0f", corners_hz[i]);
  }
  assert_true(ok);
}

// A wide resonance with a strong one on its slope is no corner.
static void
test_slope_of_resonance(void** state) {
  (void)state;
  const Speaker speaker = {.corner_hz = 717.0,
                           .order = 2U,
                           .peaks = {{1937.0, 12.9, 7.3}, {3139.0, 14.7, 1.5}},
                           .n_peaks = 2U,
                           .coil_hz = 12000.0,
                           .noise_db = 40.0,
                           .ppm = 100.0};
  gauge(&speaker, false, 0);
  assert_true(check_found(&speaker, 0U));
}

// Resonances near each other or near the corner, which pass for fewer, wider or
// narrower ones, or for a corner.
static void
test_near_resonances(void** state) {
  (void)state;
  static const Speaker speakers[] = {
    {.corner_hz = 785.7,
     .order = 4U,
     .peaks = {{1644.8, 10.2, 4.44},
               {2082.5, 6.45, 5.43},
               {3058.6, 9.66, 5.93},
               {6723.1, 6.53, 9.56}},
     .n_peaks = 4U},
    {.corner_hz = 784.7,
     .order = 3U,
     .peaks = {{974.3, 10.84, 2.63},
               {1425.4, 6.49, 4.09},
               {3102.0, 12.24, 5.65},
               {7106.9, 8.78, 2.53}},
     .n_peaks = 4U},
    {.corner_hz = 174.6,
     .order = 3U,
     .peaks = {{529.6, 7.25, 4.46}, {4933.3, 14.73, 11.6}, {6721.0, 6.29, 4.5}},
     .n_peaks = 3U},
  };
  bool ok = true;
  for (unsigned i = 0; i < 3U; ++i) {
    Speaker speaker = speakers[i];
    speaker.noise_db = 40.0;
    speaker.ppm = 100.0;
    gauge(&speaker, false, 0);
    ok &= check_found(&speaker, 1000U + i);
  }
  static const unsigned seeds[] = {260U, 265U};
  for (size_t i = 0; i < 2U; ++i) {
    const Speaker speaker = any_speaker(7U * seeds[i], 4U, 15.0);
    gauge(&speaker, false, 0);
    ok &= check_found(&speaker, seeds[i]);
  }
  assert_true(ok);
}

// Two speakers whose answers to a chirp have waves of nearly one height.
static void
test_clock(void** state) {
  (void)state;
  static const unsigned seeds[] = {17U, 190U};
  bool                  ok = true;
  for (size_t i = 0; i < 2U; ++i) {
    const Speaker speaker = any_speaker(7U * seeds[i], 4U, 15.0);
    gauge(&speaker, false, 0);
    ok &= check_at_most(
      fabs(heard[0].ppm - 100.0), 5.0, "clock, speaker %u", seeds[i]);
  }
  assert_true(ok);
}

// Nothing is raised, resonances come within 3 dB of what is about them; what
// stands out by more than 12 dB is 9 dB lower: the most that is cut (common
// practice).
static void
test_cuts(void** state) {
  (void)state;
  bool ok = true;
  for (unsigned seed = 1; seed <= n_of(4U, 200U); ++seed) {
    const Speaker speaker = any_speaker(11U * seed, 3U, 15.0);
    gauge(&speaker, false, 0);
    const VwSpeaker* const made = &gauged[0].proposed;
    Speaker                without = speaker;
    without.n_peaks = 0;
    ok &= check_at_most(made->n_cuts, 3.0, "cuts, speaker %u", seed);
    ok &= check_that(vw_speaker_is_sound(made), "ranges, speaker %u", seed);
    ok &= check_at_most(made->corner_hz / speaker.corner_hz, 1.0, "%u", seed);
    ok &= check_at_least(made->corner_hz / speaker.corner_hz, 0.8, "%u", seed);
    for (double hz = 50.0; hz < 16000.0; hz *= 1.01) {
      const double does_db = vw_speaker_db(made, hz, RATE_HZ);
      ok &= check_at_most(does_db, 1e-9, "raised, %u at %.0f Hz", seed, hz);
    }
    for (unsigned i = 0; i < speaker.n_peaks; ++i) {
      const double hz = speaker.peaks[i].hz;
      const double left_db = speakers_db(&speaker, hz) -
                             speakers_db(&without, hz) +
                             vw_speaker_db(made, hz, RATE_HZ);
      const double most_db = fmax(3.0, speaker.peaks[i].db - 9.0 + 1.5);
      ok &= check_at_most(left_db, most_db, "left, %u at %.0f", seed, hz);
      ok &= check_at_least(left_db, -3.0, "dip, %u at %.0f", seed, hz);
    }
  }
  assert_true(ok);
}

// A resonance of 15 dB is cut by 9, so that it rings no longer: what is left is
// one of 6 dB in which the zeros are its own, and the poles twice as damped
// (closed form of the analogue filter).
static void
test_high_resonance(void** state) {
  (void)state;
  const Speaker speaker = {.corner_hz = 300.0,
                           .order = 2U,
                           .peaks = {{1500.0, 15.0, 4.0}},
                           .n_peaks = 1U,
                           .noise_db = 50.0};
  const Speaker without = {.corner_hz = 300.0, .order = 2U};
  gauge(&speaker, false, 0);
  const VwSpeaker* const made = &gauged[0].proposed;
  const VwSpeaker        high_pass = {made->corner_hz, 0U, {{0.0, 0.0, 0.0}}};
  bool                   ok = check_equal(made->cuts[0].db, -9.0, "cut");
  for (double hz = 500.0; hz < 5000.0; hz *= 1.02) {
    const double left_db =
      speakers_db(&speaker, hz) - speakers_db(&without, hz) +
      vw_speaker_db(made, hz, RATE_HZ) - vw_speaker_db(&high_pass, hz, RATE_HZ);
    const double w = hz / 1500.0;
    const double even = (1.0 - w * w) * (1.0 - w * w);
    const double zeros = w * pow(10.0, 15.0 / 40.0) / 4.0;
    const double poles = zeros / pow(10.0, 6.0 / 20.0);
    const double wanted_db =
      10.0 * log10((even + zeros * zeros) / (even + poles * poles));
    ok &= check_at_most(fabs(left_db - wanted_db), 0.5, "at %.0f Hz", hz);
  }
  assert_true(ok);
}

// A sound that is made for a speaker is changed as its figures say, by a tone
// through the filters.
static void
test_filters(void** state) {
  (void)state;
  const VwSpeaker speaker = {
    300.0, 2U, {{900.0, -9.0, 3.0}, {2500.0, -6.0, 8.0}}};
  const VwSpeaker beyond = {300.0, 1U, {{15000.0, -9.0, 3.0}}};
  bool            ok = true;
  for (double hz = 150.0; hz < 8000.0; hz *= 1.19) {
    double  powers[3] = {0.0, 0.0, 0.0};
    VwSound tone = {0};
    VwSound played = {0};
    assert_int_equal(vw_sound_init(&tone, 24000U, 1U, RATE_HZ), VW_OK);
    for (size_t i = 0; i < tone.n_frames; ++i) {
      tone.values[i] =
        (float)(0.1 * sin(2.0 * 3.14159265358979 * hz * (double)i / RATE_HZ));
    }
    assert_int_equal(vw_sound_copy(&tone, &played), VW_OK);
    for (size_t i = 12000U; i < 24000U; ++i) {
      powers[0] += (double)tone.values[i] * (double)tone.values[i];
    }
    vw_speaker_spare(&speaker, &tone);
    vw_speaker_play(&speaker, &played);
    for (size_t i = 12000U; i < 24000U; ++i) {
      powers[1] += (double)tone.values[i] * (double)tone.values[i];
      powers[2] += (double)played.values[i] * (double)played.values[i];
    }
    const VwSpeaker high_pass = {300.0, 0U, {{0.0, 0.0, 0.0}}};
    const double    spared_db = 10.0 * log10(powers[1] / powers[0]);
    const double    played_db = 10.0 * log10(powers[2] / powers[0]);
    const double    with_db = vw_speaker_db(&speaker, hz, RATE_HZ);
    const double    without_db = vw_speaker_db(&high_pass, hz, RATE_HZ);
    ok &= check_at_most(fabs(spared_db - with_db), 0.1, "at %.0f Hz", hz);
    ok &= check_at_most(fabs(played_db - (2.0 * without_db - with_db)),
                        0.1,
                        "played at %.0f Hz",
                        hz);
    vw_sound_clear(&tone);
    vw_sound_clear(&played);
  }
  // Fourth-order Butterworth, 24.1 dB an octave down (closed form); the peaking
  // filter does at its middle what it says.
  ok &= check_at_most(
    fabs(vw_speaker_db(&beyond, 300.0, RATE_HZ) + 3.01), 0.02, "corner");
  ok &= check_at_most(
    fabs(vw_speaker_db(&beyond, 150.0, RATE_HZ) + 24.1), 0.3, "octave");
  ok &= check_at_most(
    fabs(vw_speaker_db(&speaker, 900.0, RATE_HZ) + 9.0 -
         vw_speaker_db(
           &(VwSpeaker){300.0, 1U, {speaker.cuts[1]}}, 900.0, RATE_HZ)),
    0.01,
    "cut");
  // Near half the sample rate there is nothing to cut.
  ok &= check_at_most(
    fabs(vw_speaker_db(&beyond, 5000.0, 22050.0)), 0.05, "beyond the rate");
  assert_true(ok);
}

static void
test_ranges(void** state) {
  (void)state;
  static const VwSpeaker good[] = {{0.0, 0U, {{0.0, 0.0, 0.0}}},
                                   {50.0, 1U, {{50.0, 0.0, 0.2}}},
                                   {2000.0, 1U, {{16000.0, -9.0, 30.0}}}};
  static const VwSpeaker bad[] = {{49.0, 0U, {{0.0, 0.0, 0.0}}},
                                  {2001.0, 0U, {{0.0, 0.0, 0.0}}},
                                  {300.0, 4U, {{900.0, -3.0, 3.0}}},
                                  {300.0, 1U, {{49.0, -3.0, 3.0}}},
                                  {300.0, 1U, {{16001.0, -3.0, 3.0}}},
                                  {300.0, 1U, {{900.0, 0.1, 3.0}}},
                                  {300.0, 1U, {{900.0, -9.1, 3.0}}},
                                  {300.0, 1U, {{900.0, -3.0, 0.1}}},
                                  {300.0, 1U, {{900.0, -3.0, NAN}}}};
  bool                   ok = true;
  for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); ++i) {
    ok &= check_that(vw_speaker_is_sound(&good[i]), "good %zu", i);
  }
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    ok &= check_that(!vw_speaker_is_sound(&bad[i]), "bad %zu", i);
  }
  assert_true(ok);
}

// Harmonics of 1 to 10 % change the response by less than 0.5 dB, and are found
// within 20 %.
static void
test_harmonics(void** state) {
  (void)state;
  static const double shares[][2] = {
    {0.01, 0.0}, {0.0, 0.01}, {0.03, 0.02}, {0.1, 0.0}, {0.05, 0.08}};
  const unsigned n = n_of(3U, 5U);
  Speaker        speaker = {.corner_hz = 300.0,
                            .order = 2U,
                            .peaks = {{1000.0, 9.0, 4.0}},
                            .n_peaks = 1U,
                            .noise_db = 50.0};
  bool           ok = true;
  gauge(&speaker, false, 0);
  for (unsigned i = 5U - n; i < 5U; ++i) {
    speaker.second = shares[i][0];
    speaker.third = shares[i][1];
    gauge(&speaker, false, 1);
    for (size_t k = 0; k < gauged[1].n_fine; ++k) {
      const VwResponse* const at = &gauged[1].fine[k];
      ok &= at->hz < 200.0 || at->hz > 14000.0 ||
            check_at_most(fabs(at->db - gauged[0].fine[k].db),
                          0.5,
                          "response %u at %.0f Hz",
                          i,
                          at->hz);
      ok &=
        at->hz < 300.0 || at->hz > 4000.0 ||
        check_at_most(fabs(at->share / speakers_share(&speaker, at->hz) - 1.0),
                      0.2,
                      "harmonics %u at %.0f Hz",
                      i,
                      at->hz);
    }
    ok &=
      check_at_least(gauged[1].share_most, gauged[1].share, "the most, %u", i);
  }
  assert_true(ok);
}

// Within 10 dB of the loudest octave; a dip that is narrower than a ninth of an
// octave does not count (IEC 60268-5, by a secondary source). A second-order
// high-pass is 10 dB down at (10 - 1)^(-1/4) of its corner (closed form).
static void
test_range(void** state) {
  (void)state;
  Speaker speaker = {.corner_hz = 400.0, .order = 2U, .noise_db = 60.0};
  gauge(&speaker, false, 0);
  bool ok = check_at_most(
    fabs(gauged[0].low_hz / (400.0 * pow(9.0, -0.25)) - 1.0), 0.02, "low end");
  ok &= check_that(isnan(gauged[0].high_hz), "no high end");
  // So deep it is below -10 dB over 0.07 of an octave, and over a fifth.
  speaker.n_peaks = 1U;
  speaker.peaks[0] = (SpeakerPeak){1000.0, -22.0, 25.0};
  gauge(&speaker, false, 0);
  ok &= check_at_most(gauged[0].low_hz, 240.0, "with a narrow dip");
  speaker.peaks[0].q = 6.0;
  gauge(&speaker, false, 0);
  ok &= check_at_least(gauged[0].low_hz, 900.0, "with a wide one");
  ok &= check_at_most(gauged[0].proposed.n_cuts, 0.0, "no dip is filled");
  assert_true(ok);
}

// Lows that are felt stay.
static void
test_transducer(void** state) {
  (void)state;
  const Speaker speaker = {.corner_hz = 300.0,
                           .order = 2U,
                           .peaks = {{1500.0, 10.0, 5.0}},
                           .n_peaks = 1U,
                           .noise_db = 50.0};
  gauge(&speaker, true, 0);
  bool ok = check_at_most(
    fabs(gauged[0].proposed.corner_hz - 150.0), 8.0, "an octave lower");
  ok &= check_equal(gauged[0].proposed.n_cuts, 1.0, "its resonance");
  // The same, packed tighter: louder, and it rings less.
  Speaker tighter = speaker;
  tighter.gain = 1.2;
  tighter.peaks[0].db = 6.0;
  gauge(&tighter, true, 1);
  ok &= check_equal(
    (double)vw_transducer_best(heard, gauged, 2U), 1.0, "the louder");
  // Louder by less than 3 dB, but it rings by 3 dB more.
  tighter.peaks[0].db = 14.0;
  gauge(&tighter, true, 1);
  ok &= check_equal(
    (double)vw_transducer_best(heard, gauged, 2U), 0.0, "the calmer");
  tighter.gain = 2.0;
  gauge(&tighter, true, 1);
  ok &= check_equal(
    (double)vw_transducer_best(heard, gauged, 2U), 1.0, "far louder");
  assert_true(ok);
}

// The mean of two places, and by how much they differ.
static void
test_places(void** state) {
  (void)state;
  Speaker speaker = {.corner_hz = 300.0, .order = 2U, .noise_db = 50.0};
  gauge(&speaker, false, 0);
  bool ok = check_that(isnan(gauged[0].unlike_db), "one differs from none");
  speaker.gain = 0.5;
  speaker.n_peaks = 1U;
  speaker.peaks[0] = (SpeakerPeak){6000.0, 8.0, 3.0};
  gauge(&speaker, false, 1);
  assert_int_equal(vw_speaker_gauge(heard, 2U, false, &gauged[0]), VW_OK);
  ok &= check_at_most(fabs(gauged[0].unlike_db - 7.7), 0.5, "unlike");
  ok &= check_at_most(fabs(gauged[0].unlike_hz - 6000.0), 400.0, "there");
  // Powers of 0 and 8 dB: a mean of 5.6 dB.
  ok &= check_equal((double)gauged[0].n_resonances, 1.0, "of the mean");
  ok &=
    check_at_most(fabs(gauged[0].resonances[0].db - 5.6), 0.7, "their mean");
  assert_true(ok);
}

/* Recordings that are not good */

static bool
doubts(const Speaker* speaker, unsigned expected, const char* what) {
  gauge(speaker, false, 0);
  return check_equal(heard[0].doubts, expected, "%s", what);
}

static void
test_doubts(void** state) {
  (void)state;
  const Speaker good = {.corner_hz = 350.0, .order = 2U, .noise_db = 40.0};
  bool          ok = doubts(&good, 0U, "nothing");
  Speaker       one = good;
  one.noise_db = 0.0;
  ok &= doubts(&one, VW_DOUBT_SILENCE, "digital silence");
  one = good;
  one.echo_s = 0.012;
  one.echo_db = -6.0;
  ok &= doubts(&one, VW_DOUBT_ECHO, "an echo");
  ok &= check_at_most(fabs(heard[0].echo_ms - 12.0), 0.2, "its time");
  ok &= check_at_most(fabs(heard[0].echo_db + 6.0), 1.0, "its level");
  // Above 4 kHz it comes too late to be looked at.
  for (size_t i = 0; i < heard[0].n_fine; ++i) {
    const double hz = heard[0].fine[i].hz;
    ok &=
      hz < 4000.0 || hz > 14000.0 ||
      check_at_most(fabs(heard[0].fine[i].db - speakers_db(&good, hz) + 12.04),
                    0.5,
                    "behind an echo at %.0f Hz",
                    hz);
  }
  one = good;
  one.clip = 0.23;
  one.peaks[0] = (SpeakerPeak){1500.0, 6.0, 4.0};
  one.n_peaks = 1U;
  ok &= doubts(&one, VW_DOUBT_CLIPPED, "clipped");
  ok &= check_at_least(heard[0].clipped_hz, 400.0, "from");
  ok &= check_at_most(heard[0].clipped_hz, 1400.0, "from");
  one = good;
  one.noise_db = 3.0;
  ok &= doubts(&one, VW_DOUBT_NOISE, "loud noise");
  one = good;
  one.ppm = 1000.0;
  ok &= doubts(&one, VW_DOUBT_CLOCK, "a clock");
  assert_true(ok);
}

// A dip is none of what is looked for.
static void
test_misfit(void** state) {
  (void)state;
  const Speaker dip = {.corner_hz = 350.0,
                       .order = 2U,
                       .peaks = {{1000.0, -15.0, 4.0}},
                       .n_peaks = 1U,
                       .noise_db = 40.0};
  bool          ok = doubts(&dip, 0U, "of the recording");
  ok &= check_equal(gauged[0].doubts, VW_DOUBT_FIT, "a dip");
  ok &= check_at_least(gauged[0].miss_db, 0.5, "by how much");
  // What is wrong with a recording is in doubt of the mean.
  Speaker echo = {.corner_hz = 350.0, .order = 2U, .noise_db = 40.0};
  echo.echo_s = 0.012;
  echo.echo_db = -6.0;
  ok &= doubts(&echo, VW_DOUBT_ECHO, "an echo");
  ok &= check_equal(gauged[0].doubts & VW_DOUBT_ECHO, VW_DOUBT_ECHO, "mean");
  assert_true(ok);
}

/// A gain that falls within the first two seconds and comes back at the end, as
/// a telephone's does.
static void
test_gain(void** state) {
  (void)state;
  const Speaker good = {.corner_hz = 350.0, .order = 2U, .noise_db = 40.0};
  VwSound       recorded = speakers_recorded(&good, &test_sound);
  for (size_t i = 0; i < recorded.n_frames; ++i) {
    const double t = (double)i / RATE_HZ;
    const double db = -6.0 * fmin(fmax(t - 1.5, 0.0), 1.0) +
                      6.0 * fmin(fmax(t - 9.4, 0.0) / 0.3, 1.0);
    recorded.values[i] *= (float)pow(10.0, db / 20.0);
  }
  assert_int_equal(vw_sweep_hear(&recorded, &heard[0]), VW_OK);
  vw_sound_clear(&recorded);
  bool ok = check_equal(heard[0].doubts, VW_DOUBT_GAIN, "doubts");
  ok &= check_at_most(fabs(heard[0].gain_db - 6.0), 0.7, "by how much");
  assert_true(ok);
}

/// A gain that follows the level within a tenth of a second, by 0.6 of it: both
/// marks are as loud, and each is louder beside a resonance than the sweep.
static void
test_quick_gain(void** state) {
  (void)state;
  const Speaker speaker = {.corner_hz = 300.0,
                           .order = 2U,
                           .peaks = {{900.0, 9.0, 4.0}, {2500.0, 7.0, 5.0}},
                           .n_peaks = 2U,
                           .noise_db = 40.0};
  const size_t  half = RATE_HZ / 10U;
  VwSound       recorded = speakers_recorded(&speaker, &test_sound);
  VwSound       even = {0};
  assert_int_equal(vw_sound_copy(&recorded, &even), VW_OK);
  double power = 0.0;
  for (size_t i = 0; i < recorded.n_frames + half; ++i) {
    const double in = i < recorded.n_frames ? recorded.values[i] : 0.0;
    const double out = i < 2U * half ? 0.0 : recorded.values[i - 2U * half];
    power += in * in - out * out;
    if (i >= half) {
      const double rms = sqrt(fmax(power, 0.0) / (2.0 * (double)half));
      even.values[i - half] *=
        (float)pow(fmin(4.0, 0.1 / fmax(rms, 1e-3)), 0.6);
    }
  }
  assert_int_equal(vw_sweep_hear(&even, &heard[0]), VW_OK);
  vw_sound_clear(&recorded);
  vw_sound_clear(&even);
  bool ok = check_equal(heard[0].doubts, VW_DOUBT_GAIN, "doubts");
  ok &= check_at_least(heard[0].gain_db, 2.0, "by how much");
  assert_true(ok);
}

/// A telephone's band: fourth order at 3.4 kHz, twice.
static void
test_narrow(void** state) {
  (void)state;
  const Speaker good = {.corner_hz = 350.0, .order = 2U, .noise_db = 60.0};
  VwSound       recorded = speakers_recorded(&good, &test_sound);
  VwSound       narrow = {0};
  assert_int_equal(vw_convert(&recorded, 8000U, &narrow), VW_OK);
  vw_sound_clear(&recorded);
  assert_int_equal(vw_convert(&narrow, RATE_HZ, &recorded), VW_OK);
  vw_sound_clear(&narrow);
  assert_int_equal(vw_sweep_hear(&recorded, &heard[0]), VW_OK);
  vw_sound_clear(&recorded);
  assert_int_equal(heard[0].missing, VW_SWEEP_FOUND);
  assert_true(
    check_equal(heard[0].doubts & VW_DOUBT_NARROW, VW_DOUBT_NARROW, "band"));
}

/// What is missing of a recording of which frames [from, to) are silent.
static bool
check_missing(double from_s, double to_s, VwSweepMissing expected) {
  const Speaker good = {.corner_hz = 350.0, .order = 2U, .noise_db = 40.0};
  VwSound       recorded = speakers_recorded(&good, &test_sound);
  for (size_t i = (size_t)(from_s * RATE_HZ);
       i < (size_t)(to_s * RATE_HZ) && i < recorded.n_frames;
       ++i) {
    recorded.values[i] = 0.0F;
  }
  assert_int_equal(vw_sweep_hear(&recorded, &heard[0]), VW_OK);
  vw_sound_clear(&recorded);
  return check_equal(
    heard[0].missing, expected, "silent from %.1f to %.1f s", from_s, to_s);
}

static void
test_missing(void** state) {
  (void)state;
  bool ok = check_missing(0.0, 20.0, VW_SWEEP_SILENT);
  ok &= check_missing(0.0, 5.0, VW_SWEEP_CUT_FRONT);
  ok &= check_missing(5.0, 20.0, VW_SWEEP_CUT_END);
  // Noise alone.
  Speaker wire = {.noise_db = 20.0};
  VwSound marks = {0};
  assert_int_equal(vw_sound_copy(&test_sound, &marks), VW_OK);
  const size_t n = marks.n_frames;
  for (size_t i = 0; i < n; ++i) {
    // The marks follow each other a second too soon.
    marks.values[i] = i + RATE_HZ < n && i > RATE_HZ ? marks.values[i + RATE_HZ]
                                                     : test_sound.values[i];
  }
  memset(marks.values + n - RATE_HZ, 0, RATE_HZ * sizeof(float));
  VwSound recorded = speakers_recorded(&wire, &marks);
  assert_int_equal(vw_sweep_hear(&recorded, &heard[0]), VW_OK);
  ok &= check_equal(heard[0].missing, VW_SWEEP_APART, "a part is cut out");
  vw_sound_clear(&recorded);
  memset(marks.values, 0, n * sizeof(float));
  marks.values[n / 2U] = 0.3F;
  recorded = speakers_recorded(&(Speaker){.noise_db = 1.0}, &marks);
  assert_int_equal(vw_sweep_hear(&recorded, &heard[0]), VW_OK);
  ok &= check_that(heard[0].missing == VW_SWEEP_NO_MARKS, "noise and a click");
  vw_sound_clear(&recorded);
  vw_sound_clear(&marks);
  assert_true(ok);
}

// A lower sample rate of the board, a recording at another one.
static void
test_rates(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {8000U, 11025U, 22050U, 32000U};
  const Speaker speaker = {.corner_hz = 400.0, .order = 2U, .noise_db = 40.0};
  bool          ok = true;
  for (size_t i = 0; i < 4U; ++i) {
    VwSound board = {0};
    VwSound air = {0};
    assert_int_equal(vw_sweep_test_make(rates_hz[i], 1U, &board), VW_OK);
    assert_int_equal(vw_convert_whole_band(&board, 44100U, &air), VW_OK);
    VwSound recorded = speakers_recorded(&speaker, &air);
    assert_int_equal(vw_sweep_hear(&recorded, &heard[0]), VW_OK);
    ok &= check_equal(heard[0].missing, VW_SWEEP_FOUND, "%u Hz", rates_hz[i]);
    ok &= check_at_most(fabs(heard[0].ppm), 5.0, "clock at %u", rates_hz[i]);
    assert_int_equal(vw_speaker_gauge(heard, 1U, false, gauged), VW_OK);
    ok &= check_at_most(fabs(gauged[0].corner_hz / 400.0 - 1.0),
                        0.05,
                        "corner at %u Hz",
                        rates_hz[i]);
    ok &= check_equal(
      (double)gauged[0].n_resonances, 0.0, "resonances at %u", rates_hz[i]);
    vw_sound_clear(&recorded);
    vw_sound_clear(&board);
    vw_sound_clear(&air);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_found),
    cmocka_unit_test(test_coil),
    cmocka_unit_test(test_slope_of_resonance),
    cmocka_unit_test(test_near_resonances),
    cmocka_unit_test(test_clock),
    cmocka_unit_test(test_cuts),
    cmocka_unit_test(test_high_resonance),
    cmocka_unit_test(test_filters),
    cmocka_unit_test(test_ranges),
    cmocka_unit_test(test_harmonics),
    cmocka_unit_test(test_range),
    cmocka_unit_test(test_transducer),
    cmocka_unit_test(test_places),
    cmocka_unit_test(test_doubts),
    cmocka_unit_test(test_misfit),
    cmocka_unit_test(test_gain),
    cmocka_unit_test(test_quick_gain),
    cmocka_unit_test(test_narrow),
    cmocka_unit_test(test_missing),
    cmocka_unit_test(test_rates),
  };
  return cmocka_run_group_tests(tests, set_up, tear_down);
}
