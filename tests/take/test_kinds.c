// What takes are called: real recordings whose kinds are labelled. The figures
// of this project: 9 of 10 are called right, and where one is not, its kind is
// told to be in doubt. The rate of rapid fire is within 1 % of that measured by
// hand, by a line through the steepest rises of the level.

#include "support/check.h"
#include "support/recordings.h"

#include "take/events.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

// Of all; of the 73 that the detection was not tuned on 66 are (measured).
#define RIGHT_LEAST 0.9
#define HELD_RIGHT_LEAST 0.89
#define RATE_OFF 0.01

/// How many were judged, called right, told to be in doubt, and called wrong
/// without.
typedef struct {
  size_t n;
  size_t n_right;
  size_t n_doubted;
  size_t n_misled;
} Judged;

static const char* labels;
static Judged      tuned;
static Judged      held;
static Judged      bzflag;
static size_t      n_rates;
static size_t      n_near;

static void
count(Judged* judged, bool right, bool doubted) {
  judged->n += 1;
  judged->n_right += right ? 1 : 0;
  judged->n_doubted += doubted ? 1 : 0;
  judged->n_misled += right || doubted ? 0 : 1;
}

// The rate of what is labelled rapid fire, with a rate, and is called so.
static void
judge_rate(const RecordingLabel* label, const VwEvents* events) {
  const double wanted = label->figure_least;
  if (events->kind == VW_KIND_RAPID_FIRE && isfinite(wanted) &&
      !strcmp(label->kind, vw_kind_name(VW_KIND_RAPID_FIRE))) {
    const double off = fabs(events->rapid.fire_rate_per_s / wanted - 1.0);
    n_rates += 1;
    n_near += off <= RATE_OFF ? 1 : 0;
    printf("  %s: rate %.2f %% off\n", label->path, 100.0 * off);
  }
}

static void
judge(const RecordingLabel* label, const VwSound* raw) {
  VwTake   take = {0};
  VwEvents events = {0};
  assert_int_equal(vw_take_prepare(raw, &take), VW_OK);
  assert_int_equal(vw_events_find(&take.sound, &events), VW_OK);
  const char* const kind = vw_kind_name(events.kind);
  const bool        right = !strcmp(kind, label->kind) ||
                     (label->or_kind && !strcmp(kind, label->or_kind));
  const bool doubted = events.sure < VW_SURE_LEAST;
  count(label->is_held ? &held : &tuned, right, doubted);
  judge_rate(label, &events);
  if (!strcmp(label->package, "bzflag-data")) {
    count(&bzflag, right, doubted);
  }
  if (!right && !label->is_held) {
    printf("  %s: %s, not %s; sure %.2f, or else %s\n",
           label->path,
           kind,
           label->kind,
           events.sure,
           vw_kind_name(events.other_kind));
  }
  vw_events_clear(&events);
  vw_take_clear(&take);
}

static bool
check_judged(const Judged* judged,
             double        right_least,
             double        misled_most,
             const char*   name) {
  printf("%s: %zu of %zu right, %zu of all in doubt\n",
         name,
         judged->n_right,
         judged->n,
         judged->n_doubted);
  bool ok = check_at_least((double)judged->n_right,
                           right_least * (double)judged->n,
                           "%s: right of %zu",
                           name,
                           judged->n);
  ok &= check_at_most(
    (double)judged->n_misled, misled_most, "%s: wrong without doubt", name);
  return ok;
}

static void
test_labelled(void** state) {
  (void)state;
  assert_true(recordings_labelled(labels, judge) >= RECORDINGS);
  bool ok = check_judged(&bzflag, RIGHT_LEAST, 0.0, "bzflag-data");
  ok &= check_judged(&tuned, RIGHT_LEAST, 0.0, "tuned on");
  // Of the held ones one is (measured).
  ok &= check_judged(&held, HELD_RIGHT_LEAST, 1.0, "held");
  ok &= check_at_least((double)(tuned.n_right + held.n_right),
                       RIGHT_LEAST * (double)(tuned.n + held.n),
                       "right of all");
  ok &= check_equal((double)n_near, (double)n_rates, "rates within 1 %%");
  // Where all is in doubt nothing is told.
  ok &= check_at_most((double)tuned.n_doubted,
                      0.35 * (double)tuned.n,
                      "in doubt of %zu",
                      tuned.n);
  assert_true(ok);
}

/* Copies of one shot */

static size_t n_shots;
static size_t n_three;
static size_t n_named;

/// Fire rates of copies that are cut off by the next, and how many recordings
/// are called rapid fire at them, of all; at least (measured).
static struct {
  double per_s;
  size_t least;
  size_t n_rapid;
} cut[] = {{6.0, 29, 0}, {8.0, 33, 0}, {9.0909, 33, 0}, {12.0, 34, 0}};

/// A recording so often.
typedef struct {
  size_t n;
  size_t length; ///< Frames of each copy.
  size_t apart;  ///< From the start of one to that of the next.
  size_t fade;   ///< Over so many each ends.
  double step_db;
} Copies;

static VwEvents
events_of_copies(const VwSound* raw, const Copies* of) {
  const unsigned n_channels = raw->n_channels;
  const size_t length = of->length < raw->n_frames ? of->length : raw->n_frames;
  VwSound      all = {0};
  VwTake       take = {0};
  VwEvents     events = {0};
  const size_t lead = raw->rate_hz / 4U;
  assert_int_equal(
    vw_sound_init(
      &all, lead + of->n * of->apart + length, n_channels, raw->rate_hz),
    VW_OK);
  for (size_t i = 0; i < of->n * length * n_channels; ++i) {
    const size_t copy = i / (length * n_channels);
    const size_t at = i % (length * n_channels);
    const size_t left = length - at / n_channels;
    const double gain = 0.4 * pow(10.0, of->step_db * (double)copy / 20.0);
    const double fade = left < of->fade ? (double)left / (double)of->fade : 1.0;
    all.values[(lead + copy * of->apart) * n_channels + at] +=
      (float)(gain * fade) * raw->values[at];
  }
  assert_int_equal(vw_take_prepare(&all, &take), VW_OK);
  assert_int_equal(vw_events_find(&take.sound, &events), VW_OK);
  vw_take_clear(&take);
  vw_sound_clear(&all);
  return events;
}

static void
try_cut(const char* name, const VwSound* raw) {
  for (size_t i = 0; i < sizeof(cut) / sizeof(cut[0]); ++i) {
    const size_t period = (size_t)(raw->rate_hz / cut[i].per_s);
    const double wanted = (double)raw->rate_hz / (double)period;
    const Copies rapid = {.n = 12,
                          .length = period,
                          .apart = period,
                          .fade = (size_t)(0.030 * raw->rate_hz)};
    VwEvents     events = events_of_copies(raw, &rapid);
    const double off = fabs(events.rapid.fire_rate_per_s / wanted - 1.0);
    const bool is_rapid = events.kind == VW_KIND_RAPID_FIRE && off <= RATE_OFF;
    cut[i].n_rapid += is_rapid ? 1 : 0;
    if (!is_rapid) {
      printf("  %s: %s, %.2f/s, not %.2f\n",
             name,
             vw_kind_name(events.kind),
             events.rapid.fire_rate_per_s,
             wanted);
    }
    vw_events_clear(&events);
  }
}

// Of shots that ring on under the next rapid fire is named, though in doubt.
static void
try_uncut(const VwSound* raw) {
  const Copies uncut = {
    .n = 16, .length = raw->n_frames, .apart = (size_t)(raw->rate_hz / 9.0)};
  VwEvents     events = events_of_copies(raw, &uncut);
  const bool   doubted = events.sure < VW_SURE_LEAST;
  const VwKind or_kind = doubted ? events.other_kind : events.kind;
  n_named += events.kind == VW_KIND_RAPID_FIRE || or_kind == VW_KIND_RAPID_FIRE;
  vw_events_clear(&events);
}

static bool
try_copies(const char* name, const VwSound* raw) {
  const Copies one = {.n = 1, .length = raw->n_frames};
  const Copies three = {.n = 3,
                        .length = raw->n_frames,
                        .apart = raw->n_frames + raw->rate_hz / 5U,
                        .step_db = -3.0};
  VwEvents     events = events_of_copies(raw, &one);
  const bool   is_shot = events.kind == VW_KIND_SHOT;
  vw_events_clear(&events);
  try_cut(name, raw);
  try_uncut(raw);
  if (!is_shot) {
    return true;
  }
  n_shots += 1;
  events = events_of_copies(raw, &three);
  const bool is_three = vw_events_are_shots(&events) && events.n_events == 3;
  n_three += is_three ? 1 : 0;
  printf("  %s: three are %zu\n", name, events.n_events);
  vw_events_clear(&events);
  return true;
}

// Three copies of what is one shot alone are three shots, however rough its
// tail: of the 21 recordings that are one shot 19 (measured). Twelve of any
// that are cut off by the next are rapid fire at their rate, but for few.
static void
test_copies(void** state) {
  (void)state;
  assert_true(recordings_each(try_copies) == RECORDINGS);
  bool ok = check_equal((double)n_shots, 21.0, "shots");
  ok &= check_at_least((double)n_three, 19.0, "three shots");
  printf("  uncut: rapid fire named %zu\n", n_named);
  ok &= check_at_least((double)n_named, 18.0, "uncut: rapid fire named");
  for (size_t i = 0; i < sizeof(cut) / sizeof(cut[0]); ++i) {
    printf("  rapid fire at %.1f/s: %zu\n", cut[i].per_s, cut[i].n_rapid);
    ok &= check_at_least((double)cut[i].n_rapid,
                         (double)cut[i].least,
                         "rapid fire at %.1f/s",
                         cut[i].per_s);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(test_labelled),
                                     cmocka_unit_test(test_copies)};
  if (argc < 2 || !recordings_find(NULL)) {
    return RECORDINGS_MISSING;
  }
  labels = argv[1];
  return cmocka_run_group_tests(tests, NULL, NULL);
}
