// What is heard in a recording of a test sound, and how far it can be trusted.

#include "base/ranges.h"
#include "base/units.h"
#include "gauge/speaker/speaker.h"

#include <math.h>
#include <stdlib.h>

// A frequency is looked at over so many of its periods: resonances die away
// within them, and echoes that come later are left out. No longer than to the
// harmonics, no shorter than tells 80 Hz apart (chosen here).
#define PERIODS 48.0
#define WINDOW_LEAST_S 0.012
#define WINDOW_MOST_S 0.55
#define HARMONIC_WINDOW_S 0.3

#define HARMONICS_MOST 5U

// Noise is heard so much later, when the room has died away. The lowest
// frequency needs half a window more.
#define NOISE_S 0.75
#define BEHIND_S 1.05
#define BEFORE_S 2.7

// The sound gets from the speaker to the telephone within this time.
#define WAY_BEFORE_S 0.03
#define WAY_MOST_S 0.1

// What is less above the noise is not told (chosen here).
#define NOISE_NEAR_DB 6.0
#define HARMONIC_NEAR 2.0 // a power

// The band of a mean level, and what is louder by noise alone.
#define MEAN_LOW_HZ 300.0
#define MEAN_HIGH_HZ 4000.0
#define NOISE_LEAST_DB 40.0

// Bounds of what is trusted (chosen here): of both marks and the sweep between
// them, third by third of an octave; digital silence, as no room has it; echoes
// above 2 kHz, where no cone rings; what a telephone leaves out above 4 kHz;
// good clocks are within 300 ppm.
#define GAIN_MOST_DB 1.0
#define GAIN_LOW_HZ 850.0
#define GAIN_HIGH_HZ 3000.0
#define GAIN_POINTS 8U // a third of an octave
#define SILENCE_DBFS (-84.0)
#define ECHO_CORNER_HZ 2000.0
#define ECHO_FROM_S 0.0025
#define ECHO_TO_S 0.1
#define ECHO_NEAR_DB (-18.0)
#define NARROW_DB 25.0
#define CLOCK_PPM 300.0

// Clipped are so many frames in a row within a 16-bit step of the highest.
#define CLIP_STEP 3.1e-5
#define CLIP_RUN 3U
#define CLIP_LEAST 0.01
#define CLIP_BLOCK_S 0.02
#define CLIP_SHARE 0.01

/// A recording that is being looked at.
typedef struct {
  const VwSound* recording;
  VwSweepFound   found;
  VwAnswer       answer;    ///< Owned.
  VwAnswer       reference; ///< That of the sweep itself. Owned.
  double         way_s;     ///< Where the answer's peak lies.
} Hearing;

static double
window_of(double hz, double most_s) {
  return fmin(fmax(PERIODS / hz, WINDOW_LEAST_S), most_s);
}

/* The answer */

/// The answer of the sweep itself, to which that of the speaker is compared.
static VwStatus
refer(Hearing* hearing) {
  const VwSweep* const sweep = &hearing->found.test.sweep;
  const unsigned       rate_hz = hearing->recording->rate_hz;
  VwSound              itself = {0};
  VwStatus             st = vw_sound_init(
    &itself, vw_frames_of_s(sweep->seconds, rate_hz), 1U, rate_hz);
  for (size_t i = 0; !st && i < itself.n_frames; ++i) {
    itself.values[i] = (float)vw_sweep_at(sweep, (double)i / rate_hz);
  }
  const VwAnswerWish wish = {0.0, -0.5 * WINDOW_MOST_S, 0.5 * WINDOW_MOST_S};
  st = st ? st : vw_sweep_answer(sweep, &itself, &wish, &hearing->reference);
  vw_sound_clear(&itself);
  return st;
}

static double
value_at(const VwAnswer* answer, double at_s) {
  const double at = (at_s - answer->from_s) * answer->rate_hz;
  return at >= 0.0 && at < (double)answer->n ? answer->values[(size_t)at] : 0.0;
}

/// Where an answer is highest, seconds.
static double
highest(const VwAnswer* answer, double from_s, double to_s) {
  double at_s = from_s;
  double most = -1.0;
  for (double s = from_s; s < to_s; s += 1.0 / answer->rate_hz) {
    const double height = fabs(value_at(answer, s));
    at_s = height > most ? s : at_s;
    most = fmax(most, height);
  }
  return at_s;
}

static VwStatus
answer_of(Hearing* hearing) {
  const VwAnswerWish wish = {hearing->found.start_s, -BEFORE_S, BEHIND_S};
  VwStatus           st = vw_sweep_answer(
    &hearing->found.test.sweep, hearing->recording, &wish, &hearing->answer);
  st = st ? st : refer(hearing);
  if (!st) {
    hearing->way_s = highest(&hearing->answer, -WAY_BEFORE_S, WAY_MOST_S);
  }
  return st;
}

/* The response */

/// Power of the harmonics of a frequency; NaN where noise hides it.
static double
harmonics_of(const Hearing* hearing, double hz) {
  const VwSweep* const sweep = &hearing->found.test.sweep;
  double               sum = 0.0;
  for (unsigned k = 2U; k <= HARMONICS_MOST && k * hz < sweep->high_hz; ++k) {
    const double window_s = window_of(k * hz, HARMONIC_WINDOW_S);
    const double power =
      vw_answer_power(&hearing->answer,
                      hearing->way_s - vw_sweep_lead_s(sweep, k),
                      window_s,
                      k * hz);
    const double noise = vw_answer_power(
      &hearing->answer, hearing->way_s + NOISE_S, window_s, k * hz);
    sum += power > HARMONIC_NEAR * noise ? power - noise : 0.0;
  }
  return sum;
}

static VwResponse
response_at(const Hearing* hearing, double hz, double* noise_db) {
  const double window_s = window_of(hz, WINDOW_MOST_S);
  const double itself = vw_answer_power(&hearing->reference, 0.0, window_s, hz);
  const double power =
    vw_answer_power(&hearing->answer, hearing->way_s, window_s, hz);
  const double noise =
    vw_answer_power(&hearing->answer, hearing->way_s + NOISE_S, window_s, hz);
  const bool heard = power > noise * vw_power_of_db(NOISE_NEAR_DB);
  const bool whole = 2.0 * hz < hearing->found.test.sweep.high_hz;
  *noise_db = vw_db_of_power(fmax(noise, 1e-20) / itself);
  return (VwResponse){
    .hz = hz,
    .db = heard ? vw_db_of_power((power - noise) / itself) : (double)NAN,
    .share = heard && whole ? sqrt(harmonics_of(hearing, hz) / (power - noise))
                            : (double)NAN};
}

static bool
is_within(double hz, double low_hz, double high_hz) {
  return hz >= low_hz && hz <= high_hz;
}

/// The mean of a response in a band, dB; NaN where there is none.
static double
mean_of(const VwSweepHeard* heard, double low_hz, double high_hz) {
  double sum = 0.0;
  size_t n = 0;
  for (size_t i = 0; i < heard->n_fine; ++i) {
    const VwResponse* const at = &heard->fine[i];
    if (is_within(at->hz, low_hz, high_hz) && !isnan(at->db)) {
      sum += at->db;
      ++n;
    }
  }
  return n ? sum / (double)n : (double)NAN;
}

static void
respond(const Hearing* hearing, VwSweepHeard* heard) {
  const VwSweep nominal = vw_sweep_test(VW_SAMPLE_RATE_USUAL_HZ).sweep;
  const double  top_hz =
    fmin(hearing->found.test.sweep.high_hz, 0.48 * hearing->answer.rate_hz);
  double noise_sum = 0.0;
  size_t n_noise = 0;
  for (size_t i = 1; i <= VW_RESPONSE_MOST; ++i) {
    const double hz = nominal.low_hz * exp2((double)i / VW_RESPONSE_FINE);
    if (hz > 0.95 * top_hz) {
      break;
    }
    double noise_db = 0.0;
    heard->fine[heard->n_fine++] = response_at(hearing, hz, &noise_db);
    if (is_within(hz, MEAN_LOW_HZ, MEAN_HIGH_HZ)) {
      noise_sum += noise_db;
      ++n_noise;
    }
    heard->top_hz = isnan(heard->fine[i - 1U].db) ? heard->top_hz : hz;
  }
  heard->level_db = mean_of(heard, MEAN_LOW_HZ, MEAN_HIGH_HZ);
  heard->noise_db = noise_sum / (double)n_noise;
}

/* What can be wrong */

/// Mean square of a stretch of the recording, dB.
static double
level_of(const VwSound* recording, double from_s, double to_s) {
  const size_t from = (size_t)fmax(from_s * recording->rate_hz, 0.0);
  const size_t to = (size_t)fmax(to_s * recording->rate_hz, 0.0);
  double       sum = 1e-12;
  for (size_t i = from; i < to && i < recording->n_frames; ++i) {
    sum += (double)recording->values[i] * (double)recording->values[i];
  }
  return vw_db_of_power(sum / fmax((double)to - (double)from, 1.0));
}

/// Keep what a gain lies between.
static void
widen(double db, double* low_db, double* high_db) {
  *low_db = fmin(*low_db, db);
  *high_db = fmax(*high_db, db);
}

/// What the gain of the sweep lies between, compared to that of the first mark:
/// both go through the same frequencies, and the speaker answers both alike.
static void
compare_to_mark(const Hearing*      mark,
                const VwSweepHeard* heard,
                double*             low_db,
                double*             high_db) {
  double sum = 0.0;
  size_t n = 0;
  for (size_t i = 0; i < heard->n_fine; ++i) {
    const double hz = heard->fine[i].hz;
    double       noise_db = 0.0;
    if (is_within(hz, GAIN_LOW_HZ, GAIN_HIGH_HZ)) {
      const double db = heard->fine[i].db - response_at(mark, hz, &noise_db).db;
      sum += isnan(db) ? 0.0 : db;
      n += isnan(db) ? 0U : 1U;
    }
    if (n == GAIN_POINTS) {
      widen(sum / (double)n, low_db, high_db);
      sum = 0.0;
      n = 0;
    }
  }
}

static VwStatus
look_at_gain(const Hearing* hearing, VwSweepHeard* heard) {
  const VwSweepTest* const test = &hearing->found.test;
  const VwSound* const     recording = hearing->recording;
  const double rise_s = hearing->found.start_s - test->sweep_s + test->rise_s;
  const double rise_way_s = rise_s + hearing->way_s;
  const double fall_way_s = rise_way_s + test->fall_s - test->rise_s;
  const double sweep_way_s = hearing->found.start_s + hearing->way_s;
  const double pause_db =
    level_of(recording, sweep_way_s - 0.15, sweep_way_s - 0.05);
  double low_db = 0.0;
  double high_db = 0.0;
  widen(level_of(recording, fall_way_s, fall_way_s + VW_SWEEP_MARK_S) -
          level_of(recording, rise_way_s, rise_way_s + VW_SWEEP_MARK_S),
        &low_db,
        &high_db);
  Hearing mark = {
    .recording = recording,
    .found = {.test = {.sweep = vw_sweep_mark()}, .start_s = rise_s}};
  const VwStatus st = answer_of(&mark);
  if (!st) {
    compare_to_mark(&mark, heard, &low_db, &high_db);
  }
  vw_answer_clear(&mark.answer);
  vw_answer_clear(&mark.reference);
  heard->gain_db = high_db - low_db;
  heard->doubts |= heard->gain_db > GAIN_MOST_DB ? VW_DOUBT_GAIN : 0U;
  heard->doubts |= pause_db < SILENCE_DBFS ? VW_DOUBT_SILENCE : 0U;
  return st;
}

/// Whether so many frames from `at` on lie as high as any.
static bool
is_clipped(const VwSound* recording, size_t at, size_t n, double peak) {
  bool same = at + n <= recording->n_frames;
  for (size_t i = at; same && i < at + n; ++i) {
    same = fabs((double)recording->values[i]) >= peak - CLIP_STEP &&
           (recording->values[i] > 0.0F) == (recording->values[at] > 0.0F);
  }
  return same;
}

/// As many frames in a row as a tone cannot lie so high unless it is clipped:
/// a low one stands still at its crest.
static size_t
clip_run(double hz, double peak, double rate_hz) {
  const double still =
    2.0 * acos(1.0 - CLIP_STEP / peak) * rate_hz / (2.0 * VW_PI * hz);
  return CLIP_RUN + (size_t)(2.0 * still);
}

/// Whether the sweep is clipped about a time after its start.
static bool
is_block_clipped(const Hearing* hearing, double time_s, double peak) {
  const VwSound* const recording = hearing->recording;
  const VwSweep* const sweep = &hearing->found.test.sweep;
  const double         rate_hz = recording->rate_hz;
  const double         at_s = hearing->found.start_s + hearing->way_s + time_s;
  const double hz = sweep->low_hz * exp(time_s / vw_sweep_pace_s(sweep));
  const size_t from = (size_t)fmax(at_s * rate_hz, 0.0);
  const size_t n = clip_run(hz, peak, rate_hz);
  for (size_t i = 0; i < vw_frames_of_s(CLIP_BLOCK_S, rate_hz); ++i) {
    if (is_clipped(recording, from + i, n, peak)) {
      return true;
    }
  }
  return false;
}

/// Count the blocks of the sweep in which the recording is clipped.
static void
look_at_clipping(const Hearing* hearing, VwSweepHeard* heard) {
  const VwSweep* const sweep = &hearing->found.test.sweep;
  const double         peak = vw_sound_peak(hearing->recording);
  double               n_blocks = 0.0;
  double               n_clipped = 0.0;
  double               first_s = 0.0;
  double               last_s = 0.0;
  for (double s = 0.0; s < sweep->seconds && peak > CLIP_LEAST;
       s += CLIP_BLOCK_S) {
    n_blocks += 1.0;
    if (is_block_clipped(hearing, s, peak)) {
      first_s = n_clipped > 0.0 ? first_s : s;
      last_s = s;
      n_clipped += 1.0;
    }
  }
  heard->clipped = n_clipped / fmax(n_blocks, 1.0);
  heard->clipped_hz = sweep->low_hz * exp(first_s / vw_sweep_pace_s(sweep));
  heard->clipped_to_hz = sweep->low_hz * exp(last_s / vw_sweep_pace_s(sweep));
  heard->doubts |= heard->clipped > CLIP_SHARE ? VW_DOUBT_CLIPPED : 0U;
}

/// Find the loudest echo above 2 kHz.
static void
look_at_echoes(const Hearing* hearing, VwSweepHeard* heard) {
  const VwAnswer* const answer = &hearing->answer;
  const double          from_s = hearing->way_s - WAY_BEFORE_S;
  const size_t n = vw_frames_of_s(WAY_BEFORE_S + ECHO_TO_S, answer->rate_hz);
  VwBiquad     sections[VW_HIGH_PASS_SECTIONS];
  double       most = 0.0;
  double       most_s = 0.0;
  double       echo = 0.0;
  double       echo_s = 0.0;
  vw_high_pass_4th(sections, ECHO_CORNER_HZ, answer->rate_hz);
  for (size_t i = 0; i < n; ++i) {
    const double at_s = from_s + (double)i / answer->rate_hz;
    const double height =
      fabs(vw_high_pass_step(sections, value_at(answer, at_s)));
    if (height > most) {
      most = height;
      most_s = at_s;
      echo = 0.0;
    } else if (at_s > most_s + ECHO_FROM_S && height > echo) {
      echo = height;
      echo_s = at_s;
    }
  }
  heard->echo_db = 2.0 * vw_db_of_power(echo / most);
  heard->echo_ms = 1000.0 * (echo_s - most_s);
  heard->doubts |= heard->echo_db > ECHO_NEAR_DB ? VW_DOUBT_ECHO : 0U;
}

static void
look_at_band(const Hearing* hearing, VwSweepHeard* heard) {
  const double speech_db = mean_of(heard, 1000.0, 3000.0);
  const double above_db = mean_of(heard, 4500.0, 7000.0);
  const bool   wide = hearing->found.test.sweep.high_hz > 7000.0;
  const bool   narrow =
    wide && (isnan(above_db) || speech_db - above_db > NARROW_DB);
  heard->doubts |= narrow ? VW_DOUBT_NARROW : 0U;
  heard->doubts |=
    heard->level_db - heard->noise_db < NOISE_LEAST_DB ? VW_DOUBT_NOISE : 0U;
  heard->doubts |= fabs(heard->ppm) > CLOCK_PPM ? VW_DOUBT_CLOCK : 0U;
}

VwStatus
vw_sweep_hear(const VwSound* recording, VwSweepHeard* heard) {
  Hearing      hearing = {.recording = recording};
  VwSweepHeard out = {0};
  VwStatus     st = vw_sweep_find(recording, &out.missing, &hearing.found);
  if (!st && out.missing == VW_SWEEP_FOUND) {
    st = answer_of(&hearing);
    if (!st) {
      out.ppm = hearing.found.ppm;
      respond(&hearing, &out);
      st = look_at_gain(&hearing, &out);
      look_at_clipping(&hearing, &out);
      look_at_echoes(&hearing, &out);
      look_at_band(&hearing, &out);
    }
  }
  vw_answer_clear(&hearing.answer);
  vw_answer_clear(&hearing.reference);
  if (!st) {
    *heard = out;
  }
  return st;
}
