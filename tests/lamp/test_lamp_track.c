// The lamp's track in the second channel, as a circuit hears it, simulated
// here. The figures are those of this project.

#include "base/status.h"
#include "lamp/lamp.h"
#include "support/check.h"
#include "support/made.h"
#include "support/player.h"
#include "support/signals.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.141592653589793

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

typedef struct {
  unsigned   rate_hz;
  double     fire_rate_per_s;
  double     decay_s;
  VwForm     form;
  VwEncoding encoding;
  double     tone_hz;
  double     level_dbfs;
  double     on_ms; // Asked; 0: as it comes.
  double     gap_ms;
  double     run_in_max_s;
  unsigned   channels; // Of the take.
  unsigned   shots;    // In a cycle; 0: as needed.
} TrackCase;

static const TrackCase cases[] = {
  {8000, 5.0, 0.3, VW_FORM_PIECES, VW_ENCODING_S16, 3000, -6, 0, 0, 0, 1, 0},
  {8000, 9.0, 0.9, VW_FORM_PIECES, VW_ENCODING_U8, 4000, -6, 0, 0, 0, 2, 0},
  {8000,
   20.0,
   1.5,
   VW_FORM_PIECES,
   VW_ENCODING_FLOAT,
   2000,
   -6,
   0,
   0,
   0.5,
   1,
   0},
  {11025, 7.77, 0.9, VW_FORM_PIECES, VW_ENCODING_S16, 3000, 0, 50, 0, 0, 2, 0},
  {16000,
   13.3,
   0.5,
   VW_FORM_LOOP_POINTS,
   VW_ENCODING_S16,
   3100,
   -6,
   0,
   0,
   0,
   1,
   0},
  {22050,
   11.0,
   0.9,
   VW_FORM_WHOLE_FILE,
   VW_ENCODING_S16,
   3000,
   -6,
   0,
   25,
   0,
   1,
   0},
  {22050,
   2.0,
   0.9,
   VW_FORM_WHOLE_FILE,
   VW_ENCODING_U8,
   3000,
   -6,
   250,
   0,
   0,
   1,
   0},
  {22050,
   9.0,
   0.9,
   VW_FORM_WHOLE_FILE,
   VW_ENCODING_S24,
   3000,
   -6,
   0,
   100,
   0,
   2,
   0},
  {22050,
   40.0,
   0.2,
   VW_FORM_PIECES,
   VW_ENCODING_S16,
   4000,
   -6,
   500,
   0,
   0,
   1,
   0},
  {44100, 9.0, 1.0, VW_FORM_PIECES, VW_ENCODING_S16, 3000, -6, 0, 0, 0, 2, 0},
  {44100,
   12.0,
   2.0,
   VW_FORM_LOOP_POINTS,
   VW_ENCODING_S16,
   2345,
   -20,
   20,
   0,
   1,
   1,
   0},
  {44100, 8.0, 0.8, VW_FORM_BURST, VW_ENCODING_S16, 3000, -6, 0, 0, 0, 1, 0},
  {48000,
   15.0,
   1.5,
   VW_FORM_PIECES,
   VW_ENCODING_FLOAT,
   3999,
   -12,
   5,
   0,
   0,
   1,
   0},
  {48000,
   10.1,
   0.5,
   VW_FORM_WHOLE_FILE,
   VW_ENCODING_S16,
   3000,
   -6,
   0,
   0,
   0,
   1,
   0},
  {44100, 9.0, 1.0, VW_FORM_PIECES, VW_ENCODING_S16, 3000, -6, 0, 0, 0, 1, 5},
  {8000, 7.3, 0.7, VW_FORM_PIECES, VW_ENCODING_S16, 2500, -6, 0, 0, 0, 1, 7},
};

enum { N_CASES = COUNT(cases), N_CYCLES = 1000, BURST_SHOTS = 5 };

static const char*
text_of(const TrackCase* wanted) {
  static char text[120];
  snprintf(text,
           sizeof(text),
           "case %zu, %g/s as %s at %u Hz",
           (size_t)(wanted - cases),
           wanted->fire_rate_per_s,
           vw_form_name(wanted->form),
           wanted->rate_hz);
  return text;
}

static VwFamilyOptions
options_of(const TrackCase* wanted) {
  VwFamilyOptions options = vw_family_defaults();
  options.format.rate_hz = wanted->rate_hz;
  options.format.encoding = wanted->encoding;
  options.format.n_channels = 2;
  options.form = wanted->form;
  options.burst_shots = BURST_SHOTS;
  options.fire_rate_per_s = wanted->fire_rate_per_s;
  options.shots = wanted->shots;
  options.gap_ms = wanted->gap_ms;
  options.run_in_max_s = wanted->run_in_max_s;
  options.lamp_on_ms = wanted->on_ms;
  options.lamp_track.wanted = true;
  options.lamp_track.tone_hz = wanted->tone_hz;
  options.lamp_track.level_dbfs = wanted->level_dbfs;
  return options;
}

// A noisy shot; a second channel is noise of its own.
static VwSound
take_of(const TrackCase* wanted) {
  const SignalBurst burst = {
    .start_s = 0.1, .rise_s = 0.001, .decay_s = wanted->decay_s, .level = 0.4};
  const double seconds = 0.2 + 0.8 * wanted->decay_s;
  VwSound      left = signal_take(seconds, wanted->rate_hz, &burst, 3);
  if (wanted->channels == 1U) {
    return left;
  }
  VwSound right = signal_take(seconds, wanted->rate_hz, &burst, 4);
  VwSound both = {NULL, 0, 0, 0};
  if (vw_sound_init(&both, left.n_frames, 2, wanted->rate_hz)) {
    abort();
  }
  for (size_t i = 0; i < left.n_frames; ++i) {
    both.values[2 * i] = left.values[i];
    both.values[2 * i + 1] = right.values[i];
  }
  vw_sound_clear(&left);
  vw_sound_clear(&right);
  return both;
}

static bool
make(const TrackCase* wanted, const VwFamilyOptions* options, Made* made) {
  VwSound    take = take_of(wanted);
  const bool ok = made_new(&take, options, made);
  vw_sound_clear(&take);
  return ok;
}

/* The converter */

// Taps on each side of a sinc under a Hann window.
enum { TAPS = 32, CURVE_RATE_HZ = 64000 };

// Points of the curve from one frame to the next.
static size_t
points_at(unsigned rate_hz) {
  return (CURVE_RATE_HZ + rate_hz - 1) / rate_hz;
}

static double
sinc(double x) {
  const double window = 0.5 + 0.5 * cos(PI * x / TAPS);
  return fabs(x) >= TAPS ? 0.0
         : x == 0.0      ? 1.0
                         : window * sin(PI * x) / (PI * x);
}

// The curve that a converter makes of the second channel: the tone's peaks lie
// between the frames.
static double
curve_at(const VwSound* sound, double at) {
  const long n = (long)sound->n_frames;
  const long middle = (long)floor(at);
  double     value = 0.0;
  for (long k = middle - TAPS + 1; k <= middle + TAPS; ++k) {
    if (k >= 0 && k < n) {
      value += (double)sound->values[2 * k + 1] * sinc(at - (double)k);
    }
  }
  return value;
}

// The second channel of a written part as such a curve. Parts start and end
// with silence, so nothing of it reaches over to the next one.
static VwSound
curve_of(const VwFamily* family, VwPart part) {
  VwSound      written = made_written(family, part, 1);
  const size_t n_points = points_at(written.rate_hz);
  VwSound      curve = {NULL, 0, 0, 0};
  if (vw_sound_init(&curve,
                    written.n_frames * n_points,
                    1,
                    written.rate_hz * (unsigned)n_points)) {
    abort();
  }
  for (size_t i = 0; i < curve.n_frames; ++i) {
    curve.values[i] = (float)curve_at(&written, (double)i / (double)n_points);
  }
  vw_sound_clear(&written);
  return curve;
}

/* The circuit */

// A diode without a drop charges 1 uF at once, 10 kohm discharge it in 10 ms
// (common practice). The input behind it goes on at half the tone's level and
// off below 0.4 of it, as one with hysteresis does: while the tone rises, the
// voltage sags by 5 % from peak to peak.
#define DECAY_S 0.01
#define ON_ABOVE 0.5
#define OFF_BELOW 0.4

// A pulse as it comes out of the circuit, in frames.
typedef struct {
  double up;
  double down;
} Pulse;

typedef struct {
  double volts;
  double keep;
  double on_above;
  double off_below;
  bool   on;
  double step; // Frames from point to point.
  double at;
  Pulse* pulses;
  size_t n_pulses;
  size_t most;
} Detector;

static Detector
detector_of(const TrackCase* wanted, Pulse* pulses, size_t most) {
  const double n_points = (double)points_at(wanted->rate_hz);
  const double level = pow(10.0, wanted->level_dbfs / 20.0);
  return (Detector){.keep = exp(-1.0 / (DECAY_S * wanted->rate_hz * n_points)),
                    .on_above = ON_ABOVE * level,
                    .off_below = OFF_BELOW * level,
                    .step = 1.0 / n_points,
                    .pulses = pulses,
                    .most = most};
}

static void
detect_one(Detector* detector, double value) {
  const bool was_on = detector->on;
  detector->volts = fmax(detector->volts * detector->keep, value);
  const bool is_on =
    detector->volts > (was_on ? detector->off_below : detector->on_above);
  detector->on = is_on;
  if (is_on && !was_on && detector->n_pulses++ < detector->most) {
    detector->pulses[detector->n_pulses - 1] = (Pulse){detector->at, INFINITY};
  } else if (was_on && !is_on && detector->n_pulses <= detector->most) {
    detector->pulses[detector->n_pulses - 1].down = detector->at;
  }
  detector->at += detector->step;
}

static void
detect(Detector* detector, const VwSound* sound, size_t from, size_t to) {
  for (size_t i = from; i < to; ++i) {
    detect_one(detector, (double)sound->values[i]);
  }
}

// Frames that are silent, or an end long enough for the last pulse to go down.
static void
detect_silence(Detector* detector, size_t n) {
  for (size_t i = 0; i < n; ++i) {
    detect_one(detector, 0.0);
  }
}

static void
hear_three(const VwFamily* family, Detector* detector) {
  VwSound run_in = curve_of(family, VW_PART_RUN_IN);
  VwSound loop = curve_of(family, VW_PART_LOOP);
  VwSound ring_out = curve_of(family, VW_PART_RING_OUT);
  detect(detector, &run_in, 0, run_in.n_frames);
  for (size_t i = 0; i < N_CYCLES; ++i) {
    detect(detector, &loop, 0, loop.n_frames);
  }
  detect(detector, &ring_out, 0, ring_out.n_frames);
  vw_sound_clear(&run_in);
  vw_sound_clear(&loop);
  vw_sound_clear(&ring_out);
}

static void
hear_one(const TrackCase* wanted, const VwFamily* family, Detector* detector) {
  const VwPart part =
    wanted->form == VW_FORM_BURST ? VW_PART_BURST : VW_PART_LOOP;
  const VwPiece* const piece = made_piece(family, part);
  VwSound              file = curve_of(family, part);
  const size_t         n_points = points_at(wanted->rate_hz);
  const size_t         n_gap =
    n_points * player_gap_frames(wanted->gap_ms, wanted->rate_hz);
  const size_t start = piece->has_loop ? n_points * piece->loop_start : 0;
  const size_t end =
    piece->has_loop ? n_points * piece->loop_end : file.n_frames;
  detect(detector, &file, 0, end);
  for (size_t i = 1; part == VW_PART_LOOP && i < N_CYCLES; ++i) {
    detect_silence(detector, n_gap);
    detect(detector, &file, start, end);
  }
  detect(detector, &file, end, file.n_frames);
  vw_sound_clear(&file);
}

static size_t
shots_heard(const TrackCase* wanted, const VwFamily* family) {
  const size_t looped = (size_t)N_CYCLES * family->plan.shots;
  switch (wanted->form) {
    case VW_FORM_BURST:
      return BURST_SHOTS;
    case VW_FORM_WHOLE_FILE:
      return looped;
    case VW_FORM_PIECES:
    case VW_FORM_LOOP_POINTS:
      break;
  }
  return family->run_in_shots + looped;
}

// Where a shot's attack lies: shot i of a burst starts at round(i L / N), 2 ms
// before it. A whole-file loop starts with a cycle's first shot, as does a
// burst; any other after the run-in goes on with the shots' beat.
static double
attack_at(const VwPlan* plan, size_t index) {
  const size_t n = plan->shots;
  // Where the gap is heard, in what is left of the cycle.
  const size_t n_even = plan->n_frames - (plan->uneven ? plan->gap_frames : 0);
  const size_t start =
    index / n * plan->n_frames + (2 * (index % n) * n_even + n) / (2 * n);
  return (double)start + 0.002 * plan->rate_hz;
}

static bool
check_pulses(const TrackCase* wanted, const Made* made, const Pulse* pulses) {
  const VwPlan* const plan = &made->family.plan;
  const char* const   name = text_of(wanted);
  const size_t        n = shots_heard(wanted, &made->family);
  // From the tone's level down to where it goes off.
  const double decay_ms = 1000.0 * DECAY_S * log(1.0 / OFF_BELOW);
  const double period_ms = 1000.0 / plan->fire_rate_per_s;
  // Within the loop; a burst's lamp is on as is usual.
  const double half_ms =
    500.0 * (double)(attack_at(plan, 1) - attack_at(plan, 0)) / plan->rate_hz;
  const double heard_on_ms = made->family.on_time.on_ms;
  const double on_ms = wanted->on_ms > 0.0 ? fmin(wanted->on_ms, half_ms)
                       : wanted->form == VW_FORM_BURST
                         ? fmin(30.0, 0.4 * period_ms)
                         : heard_on_ms;
  const double frames_per_ms = plan->rate_hz / 1000.0;
  double       late_ms = 0.0;
  double       off_ms = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double heard_ms =
      (pulses[i].down - pulses[i].up) / frames_per_ms - decay_ms;
    const double from_ms = (pulses[i].up - attack_at(plan, i)) / frames_per_ms;
    off_ms = fmax(off_ms, fabs(heard_ms - on_ms));
    // Of an edge of 1 ms it has risen by half.
    late_ms = fmax(late_ms, fabs(from_ms - 0.5));
  }
  bool ok = check_at_most(off_ms, 2.0, "%s: on-time off, ms", name);
  ok &= check_at_most(
    late_ms, 0.7, "%s: from half a ms after the attack, ms", name);
  ok &= check_at_most(fabs(made->family.lamp_track.on_ms - on_ms),
                      0.5 / frames_per_ms + 1e-9,
                      "%s: on-time reported, error",
                      name);
  return ok & check_at_most(fabs(made->family.lamp.on_ms - on_ms),
                            1e-9,
                            "%s: the lamp's on-time, error",
                            name);
}

static bool
check_detected(const TrackCase* wanted, const Made* made) {
  const VwFamily* const family = &made->family;
  const size_t          n = shots_heard(wanted, family);
  Pulse* const          pulses = calloc(n + 1, sizeof(Pulse));
  if (!pulses) {
    abort();
  }
  Detector detector = detector_of(wanted, pulses, n + 1);
  if (wanted->form == VW_FORM_PIECES) {
    hear_three(family, &detector);
  } else {
    hear_one(wanted, family, &detector);
  }
  detect_silence(&detector, CURVE_RATE_HZ);
  const bool ok =
    check_equal(
      (double)detector.n_pulses, (double)n, "%s: pulses", text_of(wanted)) &&
    check_pulses(wanted, made, pulses);
  free(pulses);
  return ok;
}

static void
test_detected(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made                  made;
    const VwFamilyOptions options = options_of(&cases[i]);
    const bool            there = make(&cases[i], &options, &made);
    ok &= there;
    if (there) {
      ok &= check_detected(&cases[i], &made);
      made_clear(&made);
    }
  }
  assert_true(ok);
}

/* The single shot */

static bool
check_single(const TrackCase* wanted, const Made* made) {
  const VwPlan lone = {.rate_hz = wanted->rate_hz, .shots = 1};
  VwSound      shot = curve_of(&made->family, VW_PART_SHOT);
  Pulse        pulses[2] = {{0.0, 0.0}, {0.0, 0.0}};
  Detector     detector = detector_of(wanted, pulses, 2);
  detect(&detector, &shot, 0, shot.n_frames);
  detect_silence(&detector, CURVE_RATE_HZ);
  vw_sound_clear(&shot);
  const double on_ms =
    1000.0 * (pulses[0].down - pulses[0].up) / wanted->rate_hz -
    1000.0 * DECAY_S * log(1.0 / OFF_BELOW);
  const double late_ms =
    1000.0 * (pulses[0].up - attack_at(&lone, 0)) / wanted->rate_hz;
  const char* const name = text_of(wanted);
  bool ok = check_equal((double)detector.n_pulses, 1.0, "%s: shot", name);
  ok &= check_at_most(fabs(on_ms - made->family.lamp_track.on_ms),
                      2.0,
                      "%s: shot's on-time off, ms",
                      name);
  return ok &
         check_at_most(fabs(late_ms - 0.5), 0.7, "%s: shot's attack", name);
}

static void
test_single_shot(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    for (int alone = 0; alone < 2; ++alone) {
      Made            made;
      VwFamilyOptions options = options_of(&cases[i]);
      options.shot_only = alone;
      options.lamp_on_ms = alone ? 30.0 : options.lamp_on_ms;
      const bool there = make(&cases[i], &options, &made);
      ok &= there;
      if (there) {
        ok &= check_single(&cases[i], &made);
        made_clear(&made);
      }
    }
  }
  assert_true(ok);
}

/* The sound beside it */

// The same options in mono give the first channel, value by value.
static bool
check_beside(const TrackCase* wanted, const Made* made, const Made* mono) {
  const VwFamily* const two = &made->family;
  const VwFamily* const one = &mono->family;
  const char* const     name = text_of(wanted);
  bool                  ok = check_equal(
    (double)two->n_pieces, (double)one->n_pieces, "%s: pieces", name);
  ok &= check_that(
    !memcmp(&two->level, &one->level, sizeof(VwLevel)), "%s: level", name);
  ok &= check_that(
    !memcmp(&two->plan, &one->plan, sizeof(VwPlan)), "%s: plan", name);
  for (size_t k = 0; ok && k < two->n_pieces; ++k) {
    const VwPart part = two->pieces[k].part;
    VwSound      a = made_written(two, part, 1);
    VwSound      b = made_written(one, part, 1);
    size_t       n_off = 0;
    ok &= check_equal(a.n_channels, 2.0, "%s: channels", name);
    ok &= check_equal(b.n_channels, 1.0, "%s: channels in mono", name);
    ok &=
      check_equal((double)a.n_frames, (double)b.n_frames, "%s: frames", name);
    for (size_t i = 0; ok && i < a.n_frames; ++i) {
      n_off += memcmp(&a.values[2 * i], &b.values[i], sizeof(float)) != 0;
    }
    ok &= check_equal((double)n_off, 0.0, "%s: values off", name);
    ok &= check_equal((double)two->pieces[k].loop_end,
                      (double)one->pieces[k].loop_end,
                      "%s: loop's end",
                      name);
    vw_sound_clear(&a);
    vw_sound_clear(&b);
  }
  return ok;
}

static void
test_sound_beside(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made            made;
    Made            mono;
    VwFamilyOptions options = options_of(&cases[i]);
    // Which of dither's numbers a value gets depends on the channels.
    options.format.dither = VW_DITHER_NONE;
    if (!make(&cases[i], &options, &made)) {
      ok = false;
      continue;
    }
    options.lamp_track.wanted = false;
    options.format.n_channels = 1;
    const bool there = make(&cases[i], &options, &mono);
    ok &= there;
    if (there) {
      ok &= check_beside(&cases[i], &made, &mono);
      made_clear(&mono);
    }
    made_clear(&made);
  }
  assert_true(ok);
}

// A file's limit counts both channels.
static void
test_room(void** state) {
  (void)state;
  Made            made;
  VwFamilyOptions options = options_of(&cases[9]);
  options.file_bytes_max = 44 + 4 * 15000;
  options.shots = 3;
  assert_true(make(&cases[9], &options, &made));
  assert_true(made_piece(&made.family, VW_PART_LOOP)->sound.n_frames <= 15000);
  made_clear(&made);
  options.file_bytes_max = 44 + 4 * 14000;
  VwSound             take = take_of(&cases[9]);
  const VwFindOptions find = vw_find_defaults();
  assert_int_equal(vw_take_prepare(&take, &made.take), VW_OK);
  assert_int_equal(vw_find(&made.take, &find, &made.facts), VW_OK);
  assert_int_equal(
    vw_family_make(&made.take, &made.facts, 1, &options, &made.family),
    VW_FILE_TOO_BIG);
  vw_take_clear(&made.take);
  vw_sound_clear(&take);
}

/* The tone */

// What the frequency and level reported would be, all the time, from the
// trigger on.
static double
tone_at(const VwLampTrack* track, double rate_hz, size_t frame) {
  const double turns = track->tone_hz * (double)frame / rate_hz;
  return pow(10.0, track->level_dbfs / 20.0) *
         sin(2.0 * PI * (turns - floor(turns)));
}

// Over run-in, loops and ring-out the tone is one that never stopped, seen
// through a gate: never above its own steps, in full for the on-time.
static bool
check_one_tone(const TrackCase* wanted, const Made* made) {
  const VwLampTrack* const track = &made->family.lamp_track;
  const char* const        name = text_of(wanted);
  VwSound                  all = made_joined(&made->family, 50);
  const size_t             n_shots =
    made->family.run_in_shots + 50U * made->family.plan.shots;
  const double rate_hz = wanted->rate_hz;
  const double level = pow(10.0, track->level_dbfs / 20.0);
  double       step = 0.0;
  double       off = 0.0;
  for (size_t i = 1; i < all.n_frames; ++i) {
    step =
      fmax(step,
           fabs((double)all.values[2 * i + 1] - (double)all.values[2 * i - 1]));
  }
  for (size_t i = 0; i < n_shots; ++i) {
    const double at = attack_at(&made->family.plan, i);
    const size_t from = (size_t)(at + 0.0015 * rate_hz);
    const size_t to = (size_t)(at + (track->on_ms - 0.5) / 1000.0 * rate_hz);
    for (size_t k = from; k < to; ++k) {
      off = fmax(
        off, fabs((double)all.values[2 * k + 1] - tone_at(track, rate_hz, k)));
    }
  }
  vw_sound_clear(&all);
  bool ok =
    check_at_most(step,
                  2.0 * level * sin(PI * track->tone_hz / rate_hz) + 1e-6,
                  "%s: greatest step",
                  name);
  return ok & check_at_most(off, 1e-5, "%s: off the one tone", name);
}

static bool
check_figures(const TrackCase* wanted, const Made* made) {
  const VwLampTrack* const track = &made->family.lamp_track;
  const VwPlan* const      plan = &made->family.plan;
  const char* const        name = text_of(wanted);
  const double             cycle_s = (double)plan->n_frames / plan->rate_hz;
  const double             most_hz = 0.4 * wanted->rate_hz;
  const double             hz = fmin(wanted->tone_hz, most_hz);
  const double             periods = track->tone_hz * cycle_s;
  bool ok = check_at_most(track->tone_hz, most_hz, "%s: tone", name);
  ok &= check_at_most(
    fabs(track->tone_hz - hz), 1.0 / cycle_s, "%s: tone moved", name);
  ok &= check_at_most(
    fabs(periods - round(periods)), 1e-6, "%s: periods in a cycle", name);
  ok &= check_equal(track->level_dbfs, wanted->level_dbfs, "%s: level", name);
  return ok &
         check_equal(track->pulses,
                     wanted->form == VW_FORM_BURST ? BURST_SHOTS : plan->shots,
                     "%s: pulses reported",
                     name);
}

static void
test_tone(void** state) {
  (void)state;
  bool   ok = true;
  size_t n_within = 0; // Loops that start within a cycle.
  for (size_t i = 0; i < N_CASES; ++i) {
    Made                  made;
    const VwFamilyOptions options = options_of(&cases[i]);
    const bool            there = make(&cases[i], &options, &made);
    ok &= there;
    if (there) {
      n_within += cases[i].form == VW_FORM_PIECES &&
                  made.family.run_in_shots % made.family.plan.shots != 0;
      ok &= check_figures(&cases[i], &made);
      ok &= cases[i].form != VW_FORM_PIECES || check_one_tone(&cases[i], &made);
      made_clear(&made);
    }
  }
  assert_true(n_within > 0);
  assert_true(ok);
}

/* What is refused, and what is left alone */

static VwStatus
status_of(const VwFamilyOptions* options) {
  VwSound             raw = take_of(&cases[9]);
  const VwFindOptions find = vw_find_defaults();
  Made                made;
  assert_int_equal(vw_take_prepare(&raw, &made.take), VW_OK);
  assert_int_equal(vw_find(&made.take, &find, &made.facts), VW_OK);
  const VwStatus st =
    vw_family_make(&made.take, &made.facts, 1, options, &made.family);
  if (!st) {
    vw_family_clear(&made.family);
  }
  vw_take_clear(&made.take);
  vw_sound_clear(&raw);
  return st;
}

static void
test_refused(void** state) {
  (void)state;
  VwFamilyOptions options = options_of(&cases[9]);
  assert_int_equal(status_of(&options), VW_OK);
  options.format.n_channels = 1;
  assert_int_equal(status_of(&options), VW_TRACK_IN_MONO);
  options = options_of(&cases[9]);
  options.lamp_track.tone_hz = 1999.0;
  assert_int_equal(status_of(&options), VW_BAD_OPTION);
  options.lamp_track.tone_hz = 4001.0;
  assert_int_equal(status_of(&options), VW_BAD_OPTION);
  options = options_of(&cases[9]);
  options.lamp_track.level_dbfs = 0.1;
  assert_int_equal(status_of(&options), VW_BAD_OPTION);
  options.lamp_track.level_dbfs = NAN;
  assert_int_equal(status_of(&options), VW_BAD_OPTION);
  options = options_of(&cases[9]);
  options.lamp_on_ms = 4.9;
  assert_int_equal(status_of(&options), VW_BAD_OPTION);
  options.lamp_on_ms = 500.1;
  assert_int_equal(status_of(&options), VW_BAD_OPTION);
}

// Where the board's gap is heard, shots follow each other faster than they do
// on average: the tone is held to half of that time.
static void
test_heard_gap(void** state) {
  (void)state;
  Made            made;
  VwFamilyOptions options = options_of(&cases[7]);
  options.lamp_on_ms = 500.0;
  assert_true(make(&cases[7], &options, &made));
  const double half_ms = 500.0 / cases[7].fire_rate_per_s;
  assert_true(made.family.plan.uneven);
  assert_true(fabs(made.family.lamp.on_ms - half_ms) < 0.1);
  assert_true(fabs(made.family.lamp_track.on_ms - half_ms) < 0.1);
  made_clear(&made);
  options.lamp_on_ms = 0.0;
  assert_true(make(&cases[7], &options, &made));
  assert_true(made.family.lamp.on_ms < half_ms + 0.1);
  assert_true(fabs(made.family.lamp_track.on_ms - made.family.lamp.on_ms) <
              0.1);
  made_clear(&made);
}

// A shot shorter than the pulse: that ends with it, without a click.
static void
test_short_shot(void** state) {
  (void)state;
  const TrackCase       short_one = {44100,
                                     5.0,
                                     0.015,
                                     VW_FORM_BURST,
                                     VW_ENCODING_FLOAT,
                                     3000,
                                     -6,
                                     50,
                                     0,
                                     0,
                                     1,
                                     0};
  Made                  made;
  const VwFamilyOptions options = options_of(&short_one);
  assert_true(make(&short_one, &options, &made));
  for (size_t k = 0; k < made.family.n_pieces; ++k) {
    const VwSound* const sound = &made.family.pieces[k].sound;
    const size_t         last = sound->n_frames - 1;
    double               at_end = 0.0;
    double               before = 0.0;
    for (size_t i = 0; i < 88; ++i) {
      const double value = fabs((double)sound->values[2 * (last - i) + 1]);
      at_end = fmax(at_end, i < 8 ? value : 0.0);
      before = fmax(before, value);
    }
    assert_true(sound->n_frames < (size_t)(0.05 * 44100) || k > 0);
    assert_true(sound->values[2 * last + 1] == 0.0F);
    assert_true(at_end < 0.05);
    assert_true(before > 0.4);
  }
  made_clear(&made);
}

// A whole take is no shot: its lamp stays dark.
static void
test_whole(void** state) {
  (void)state;
  Made            made;
  VwFamilyOptions options = options_of(&cases[9]);
  options.whole = true;
  assert_true(make(&cases[9], &options, &made));
  const VwSound* const sound = &made.family.pieces[0].sound;
  double               most = 0.0;
  assert_int_equal(sound->n_channels, 2);
  for (size_t i = 0; i < sound->n_frames; ++i) {
    most = fmax(most, fabs((double)sound->values[2 * i + 1]));
  }
  assert_true(most == 0.0);
  assert_int_equal(made.family.lamp_track.pulses, 0);
  made_clear(&made);
}

/* Told from sound */

static bool
check_told(const VwFamily* family, const char* name) {
  bool ok = true;
  for (size_t i = 0; i < family->n_pieces; ++i) {
    const VwPart part = family->pieces[i].part;
    VwSound      written = made_written(family, part, 1);
    ok &= check_that(vw_has_lamp_track(&written) == (part != VW_PART_RING_OUT),
                     "%s: the %s is told",
                     name,
                     vw_part_name(part));
    vw_sound_clear(&written);
  }
  return ok;
}

static void
test_told(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < N_CASES; ++i) {
    Made            made;
    VwFamilyOptions options = options_of(&cases[i]);
    if (!make(&cases[i], &options, &made)) {
      ok = false;
      continue;
    }
    ok &= check_told(&made.family, text_of(&cases[i]));
    made_clear(&made);
  }
  assert_true(ok);
}

// Noise, tones that decay or glide, low and high ones.
static void
test_not_told(void** state) {
  (void)state;
  static const SignalBurst bursts[] = {
    {.decay_s = 0.3, .level = 0.5},
    {.hold_s = 0.3, .level = 0.5},
    {.decay_s = 0.3, .level = 0.5, .pitch_hz = 3000.0},
    {.decay_s = 1.0, .level = 0.5, .pitch_hz = 2500.0},
    {.hold_s = 0.3,
     .level = 0.5,
     .pitch_hz = 4000.0,
     .glide_octaves_per_s = -6.0},
    {.hold_s = 0.3, .level = 0.5, .pitch_hz = 1000.0},
    {.hold_s = 0.3, .level = 0.5, .pitch_hz = 6000.0},
  };
  bool ok = true;
  for (size_t i = 0; i < COUNT(bursts); ++i) {
    SignalBurst burst = bursts[i];
    burst.start_s = 0.01;
    SignalRandom random = signal_random(i);
    VwSound      mono = signal_silence(0.5, 44100);
    VwSound      both = {NULL, 0, 0, 0};
    signal_add_burst(&mono, &burst, &random);
    assert_int_equal(vw_sound_init(&both, mono.n_frames, 2, 44100), VW_OK);
    for (size_t k = 0; k < mono.n_frames; ++k) {
      both.values[2 * k] = mono.values[k];
      both.values[2 * k + 1] = mono.values[k];
    }
    ok &= check_that(!vw_has_lamp_track(&both), "sound %zu is no track", i);
    vw_sound_clear(&mono);
    vw_sound_clear(&both);
  }
  assert_true(ok);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_detected),
    cmocka_unit_test(test_single_shot),
    cmocka_unit_test(test_sound_beside),
    cmocka_unit_test(test_room),
    cmocka_unit_test(test_tone),
    cmocka_unit_test(test_refused),
    cmocka_unit_test(test_heard_gap),
    cmocka_unit_test(test_short_shot),
    cmocka_unit_test(test_whole),
    cmocka_unit_test(test_told),
    cmocka_unit_test(test_not_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
