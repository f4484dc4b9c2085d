// The fire rate of a loop that was written: how many shots lie in it.

#include "pulse.h"

#include "units.h"

#include "volleyweave/volleyweave.h"

#include <math.h>
#include <stdlib.h>

#define SHOTS_MOST 64U

// Fire rates that a loop may have.
#define RATE_LEAST_PER_S 0.25
#define RATE_MOST_PER_S 50.0

// Waves as much alike as this are the same shot. A steady tone falling by the
// least valley that anybody hears as shots, 3 dB, has less.
#define SAME_WAVE 0.93

// Shots of different takes share so much of their level's course, while halves
// of one shot, or of a shot and its tail, do not.
#define SAME_COURSE 0.66

// Levels farther down than this count as silence.
#define FLOOR_DB 24.0

// A level that changes by less has no shots in it.
#define RANGE_LEAST_DB 3.0

// The first shot rises so soon after its loop starts: 2 ms before the attack,
// and a slow attack after it; in parts of the period.
#define RISE_SHARE_MOST 0.45

/* Waves */

/// Start of shot `i` in a cycle of so many.
static size_t
start_of(const VwSound* loop, size_t shots, size_t i) {
  return (2U * i * loop->n_frames + shots) / (2U * shots);
}

/// How alike every shot of a loop is to the one after it, 1 for the same wave.
static double
wave_likeness(const VwSound* loop, size_t shots) {
  const size_t n_cycle = loop->n_frames;
  const size_t n = n_cycle / shots;
  double       product = 0.0;
  double       energy = 1e-30;
  for (size_t i = 0; i < shots; ++i) {
    const size_t a = start_of(loop, shots, i);
    const size_t b = start_of(loop, shots, i + 1U);
    for (size_t k = 0; k < n; ++k) {
      const double x = (double)loop->values[(a + k) % n_cycle];
      const double y = (double)loop->values[(b + k) % n_cycle];
      product += x * y;
      energy += 0.5 * (x * x + y * y);
    }
  }
  return product / energy;
}

/* Courses */

/// The level of a cycle in dB above its floor, at 2 ms steps and finer.
typedef struct {
  double* db; ///< Owned.
  size_t  n;
} Course;

static VwStatus
take_course(const VwSound* loop, Course* course) {
  VwPulses       pulses = {0};
  const VwStatus st = vw_pulses_take(loop, 1U, &pulses);
  if (st) {
    return st == VW_SILENT ? VW_NO_STEADY_RATE : st;
  }
  const size_t from = vw_pulses_step(&pulses, 0, 0.0);
  const size_t to = vw_pulses_step(&pulses, 0, 1.0);
  const double crest =
    pulses.curve.level[vw_curve_crest(&pulses.curve, from, to)];
  course->n = to - from;
  course->db = calloc(course->n + 1U, sizeof(double));
  for (size_t i = 0; course->db && i < course->n; ++i) {
    const double ratio = pulses.curve.level[from + i] / crest;
    course->db[i] = fmax(vw_db_of_power(fmax(ratio, 1e-12)), -FLOOR_DB);
  }
  vw_pulses_clear(&pulses);
  return course->db ? VW_OK : VW_NO_MEMORY;
}

/// Range of a course's level, dB.
static double
range_of(const Course* course) {
  double least = 0.0;
  for (size_t i = 0; i < course->n; ++i) {
    least = fmin(least, course->db[i]);
  }
  return -least;
}

/// The part of a course's variance that its mean over all shots explains.
static double
course_likeness(const Course* course, size_t shots) {
  const size_t n = course->n / shots;
  double       mean = 0.0;
  double       all = 1e-30;
  double       left = 0.0;
  for (size_t i = 0; i < course->n; ++i) {
    mean += course->db[i] / (double)course->n;
  }
  for (size_t k = 0; k < n; ++k) {
    double profile = 0.0;
    for (size_t i = 0; i < shots; ++i) {
      profile += course->db[i * course->n / shots + k] / (double)shots;
    }
    for (size_t i = 0; i < shots; ++i) {
      const double db = course->db[i * course->n / shots + k];
      left += (db - profile) * (db - profile);
      all += (db - mean) * (db - mean);
    }
  }
  return 1.0 - left / all;
}

/* Number of shots */

/// The greatest number of shots of which all are alike: every smaller number
/// that divides it fits as well.
static size_t
count_shots(const VwSound* mono, const Course* course) {
  const double seconds = (double)mono->n_frames / mono->rate_hz;
  for (size_t shots = SHOTS_MOST; shots > 1U; --shots) {
    const double rate = (double)shots / seconds;
    if (rate > RATE_MOST_PER_S || rate < RATE_LEAST_PER_S) {
      continue;
    }
    const double course_like = course_likeness(course, shots);
    if (course_like >= SAME_COURSE ||
        (course_like >= 0.5 * SAME_COURSE &&
         wave_likeness(mono, shots) >= SAME_WAVE)) {
      return shots;
    }
  }
  return 1U;
}

/// Whether a shot rises where every period starts, and only there.
static bool
starts_with_shot(const Course* course, size_t shots) {
  const size_t n = course->n / shots;
  double       highest = -HUGE_VAL;
  size_t       at = 0;
  double       before = 0.0;
  double*      profile = calloc(n + 1U, sizeof(double));
  if (!profile) {
    return false;
  }
  for (size_t k = 0; k < n; ++k) {
    for (size_t i = 0; i < shots; ++i) {
      profile[k] += course->db[i * course->n / shots + k] / (double)shots;
    }
    if (profile[k] > highest) {
      highest = profile[k];
      at = k;
    }
  }
  before = profile[n - 1U];
  free(profile);
  return (double)at <= RISE_SHARE_MOST * (double)n &&
         highest - before >= RANGE_LEAST_DB / 2.0;
}

static VwStatus
find_rate(const VwSound* mono, double gap_ms, VwRateFound* found) {
  Course   course = {0};
  VwStatus st = take_course(mono, &course);
  if (st) {
    free(course.db);
    return st;
  }
  const size_t shots =
    range_of(&course) < RANGE_LEAST_DB ? 0U : count_shots(mono, &course);
  const double seconds =
    (double)mono->n_frames / mono->rate_hz + gap_ms / 1000.0;
  const bool good = shots && starts_with_shot(&course, shots) &&
                    (double)shots / seconds >= RATE_LEAST_PER_S;
  free(course.db);
  if (!good) {
    return VW_NO_STEADY_RATE;
  }
  *found = (VwRateFound){(double)shots / seconds, shots, 0.0};
  return VW_OK;
}

VwStatus
vw_rate_of_loop(const VwSound* loop, double gap_ms, VwRateFound* found) {
  VwSound  mono = {0};
  VwStatus st = vw_pulse_channel(loop, &mono);
  st = st ? st : find_rate(&mono, gap_ms, found);
  vw_sound_clear(&mono);
  return st;
}
