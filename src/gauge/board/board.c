// What the plays of a board's test sound tell of it: gap, clock and channels.

#include "base/units.h"
#include "gauge/board/internal.h"
#include "take/take.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// The longest gap that a board may have, see base/ranges.h, with room for
// errors.
#define GAP_MOST_S 1.01
#define GAP_LEAST_S (-0.01)

// A mark that is cut has lost so much of its height.
#define WHOLE_HEIGHT 0.6

// A piece for each so many seconds, and no longer than so many: short enough
// for a clock that is not known, and long enough to be told (chosen here).
#define PIECE_EACH_S 0.09
#define PIECE_MOST_S 0.1

// A line wants three of them.
#define PIECES_LEAST 3U

// Pieces this much below the loudest are not listened for.
#define PIECE_SOFT_DB 25.0

// What is a mark without others about it (chosen here: noise is alike by 0.4).
#define MARK_LIKENESS 0.6F

// A clock that is known no better is not known.
#define CLOCK_ROUGH 0.0001

// Below this part of where marks begin nothing of them is heard, and mains hum
// may be louder than they are (chosen here).
#define HUM_PART 0.4

// Converters fade out what lies between these parts of the sample rate (common
// practice).
#define CARRIED_WELL 0.4
#define CARRIED_MOST 0.47

VwGauged
vw_gauge_not_found(VwWhyNot why) {
  return (VwGauged){NAN, NAN, why, false};
}

/* Plays */

/// The height that marks of a play have.
static double
height_of(const VwPattern* pattern, const VwPlay* play) {
  double heights[VW_PIECES_MOST];
  size_t n = 0;
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    if (play->pieces[i].there && pattern->pieces[i].timed) {
      heights[n++] = play->pieces[i].heard.height;
    }
  }
  qsort(heights, n, sizeof(double), vw_compare_doubles);
  return n ? heights[n / 2U] : 0.0;
}

bool
vw_play_is_whole(const VwPattern* pattern, const VwPlay* play) {
  const VwPieceHeard* const last = &play->pieces[pattern->n_pieces - 1U];
  return last->there &&
         last->heard.height >= WHOLE_HEIGHT * height_of(pattern, play);
}

/* Gap and clock */

double
vw_gauge_gap_behind(const VwGaugeCase* all, size_t play) {
  const VwPlays* const plays = &all->plays;
  return (plays->plays[play + 1U].start_s - plays->plays[play].start_s) /
           plays->ratio -
         all->pattern->length_s;
}

/// Gather what may be gaps.
static size_t
gather_gaps(const VwGaugeCase* all, double* gaps) {
  size_t n = 0;
  for (size_t p = 0; p + 1U < all->plays.n; ++p) {
    const double gap_s = vw_gauge_gap_behind(all, p);
    if (vw_play_is_whole(all->pattern, &all->plays.plays[p]) &&
        !all->plays.plays[p + 1U].pressed && gap_s >= GAP_LEAST_S &&
        gap_s <= GAP_MOST_S) {
      gaps[n++] = gap_s;
    }
  }
  qsort(gaps, n, sizeof(double), vw_compare_doubles);
  return n;
}

/// Move those that lie together, the most that do, to the front. Of two as many
/// the shorter.
static size_t
keep_common(double* gaps, size_t n) {
  size_t from = 0;
  size_t most = 0;
  for (size_t i = 0; i < n; ++i) {
    size_t k = i;
    while (k < n && gaps[k] <= gaps[i] + VW_GAPS_WITHIN_S) {
      ++k;
    }
    if (k - i > most) {
      most = k - i;
      from = i;
    }
  }
  memmove(gaps, gaps + from, most * sizeof(double));
  return most;
}

static double
mean_of(const double* values, size_t n) {
  double sum = 0.0;
  for (size_t i = 0; i < n; ++i) {
    sum += values[i];
  }
  return sum / (double)n;
}

static double
deviation_of(const double* values, size_t n) {
  const double mean = mean_of(values, n);
  double       sum = 0.0;
  for (size_t i = 0; i < n; ++i) {
    sum += (values[i] - mean) * (values[i] - mean);
  }
  return sqrt(sum / (double)(n - 1U));
}

/// Set the gap from those that were found.
static void
set_gap(VwGaugeCase* all, const double* gaps, size_t n) {
  VwGaugedBoard* const board = all->board;
  const VwPlays* const plays = &all->plays;
  board->n_gaps = n;
  board->gap_jitter_ms = n > 2U ? 1000.0 * deviation_of(gaps, n) : NAN;
  if (!n) {
    board->gap_ms = vw_gauge_not_found(VW_ONE_REPEAT);
    return;
  }
  // Two starts, each the mean of about half of the pieces, and the clock; and
  // the mean of gaps that differ.
  const double starts_s = 1.96 * plays->spread_s * 0.5 / sqrt((double)n);
  const double clock_s = plays->ratio_weighed * all->pattern->length_s;
  const double gaps_s = n > 2U ? vw_student_95((double)n - 1.0) *
                                   deviation_of(gaps, n) / sqrt((double)n)
                               : 0.0;
  all->gap_s = mean_of(gaps, n);
  board->gap_ms = (VwGauged){1000.0 * all->gap_s,
                             1000.0 * hypot(hypot(starts_s, clock_s), gaps_s),
                             VW_GAUGED,
                             false};
}

/// Whether a gap of this press lies behind a play.
static bool
is_gap_behind(const VwGaugeCase* all, size_t play) {
  return play + 1U < all->plays.n && !all->plays.plays[play + 1U].pressed &&
         vw_play_is_whole(all->pattern, &all->plays.plays[play]) &&
         fabs(vw_gauge_gap_behind(all, play) - all->gap_s) < VW_GAPS_WITHIN_S;
}

/// Set where gaps lie in the recording.
static void
place_gaps(VwGaugeCase* all) {
  VwGaugedBoard* const board = all->board;
  const VwPlays* const plays = &all->plays;
  size_t               first = 0;
  board->n_running = 0;
  while (board->n_gaps && first < plays->n && !is_gap_behind(all, first)) {
    ++first;
  }
  while (board->n_gaps && is_gap_behind(all, first + board->n_running)) {
    ++board->n_running;
  }
  if (board->n_running) {
    board->gap_long_s = all->gap_s * plays->ratio;
    board->repeat_s = all->pattern->length_s * plays->ratio + board->gap_long_s;
    board->first_gap_s =
      plays->plays[first + 1U].start_s - fmax(board->gap_long_s, 0.0);
  }
}

VwStatus
vw_gauge_gap_find(VwGaugeCase* all) {
  double* const gaps = calloc(all->plays.n + 1U, sizeof(double));
  if (gaps) {
    const size_t n = gather_gaps(all, gaps);
    const size_t n_common = keep_common(gaps, n);
    set_gap(all, gaps, n_common);
    // What fewer than two thirds have may be a pause between presses.
    if (3U * n_common < 2U * n) {
      all->board->gap_ms.why = VW_UNLIKE;
      all->board->gap_ms.doubt = true;
    }
    place_gaps(all);
  }
  free(gaps);
  return gaps ? VW_OK : VW_NO_MEMORY;
}

static void
find_clock(VwGaugeCase* all) {
  const VwPlays* const plays = &all->plays;
  all->board->clock_ppm =
    plays->ratio_error <= CLOCK_ROUGH
      ? (VwGauged){1e6 * (1.0 / plays->ratio - 1.0),
                   1e6 * plays->ratio_error,
                   VW_GAUGED,
                   false}
      : vw_gauge_not_found(isfinite(plays->ratio_error) ? VW_ROUGH
                                                        : VW_ONE_REPEAT);
}

static VwStatus
find_times(VwGaugeCase* all) {
  for (size_t p = 0; p < all->plays.n; ++p) {
    all->board->n_whole +=
      vw_play_is_whole(all->pattern, &all->plays.plays[p]) ? 1U : 0U;
  }
  all->board->n_plays = all->plays.n;
  find_clock(all);
  return vw_gauge_gap_find(all);
}

/* Channels */

/// The median height of the marks that are in these channels; 0 without any.
static double
height_in(const VwGaugeCase* all, VwMarkIn in) {
  double* const heights =
    calloc(all->plays.n * VW_PIECES_MOST + 1U, sizeof(double));
  size_t n = 0;
  for (size_t p = 0; heights && p < all->plays.n; ++p) {
    const VwPlay* const play = &all->plays.plays[p];
    for (size_t i = 0;
         i < all->pattern->n_pieces && vw_play_is_whole(all->pattern, play);
         ++i) {
      if (all->test->marks[i].in == in) {
        heights[n++] =
          play->pieces[i].there ? play->pieces[i].heard.height : 0.0;
      }
    }
  }
  double height = 0.0;
  if (n) {
    qsort(heights, n, sizeof(double), vw_compare_doubles);
    height = heights[n / 2U];
  }
  free(heights);
  return height;
}

// Of the louder single channel: a sum leaves so little of opposed marks, and a
// channel that is not played as little (chosen here: echoes of the marks before
// them are as loud).
#define SUM_LEAVES 0.25
#define NOT_PLAYED 0.12

static void
find_channels(VwGaugeCase* all) {
  VwGauged* const channels = &all->board->channels;
  if (!all->test || all->test->n_channels < 2U) {
    *channels = vw_gauge_not_found(VW_NOT_ASKED);
    return;
  }
  const double left = height_in(all, VW_MARK_LEFT);
  const double right = height_in(all, VW_MARK_RIGHT);
  const double opposed = height_in(all, VW_MARK_OPPOSED);
  const double louder = fmax(left, right);
  if (!(louder > 0.0)) {
    *channels = vw_gauge_not_found(VW_ONE_REPEAT);
    return;
  }
  const VwPlaysChannels how = left < NOT_PLAYED * right       ? VW_PLAYS_RIGHT
                              : right < NOT_PLAYED * left     ? VW_PLAYS_LEFT
                              : opposed < SUM_LEAVES * louder ? VW_PLAYS_SUM
                                                              : VW_PLAYS_STEREO;
  *channels = (VwGauged){how, NAN, VW_GAUGED, false};
}

/* All */

/// The marks of a test sound as a pattern.
static VwPattern
pattern_of(const VwTestSound* test) {
  VwPattern pattern = {.n_pieces = test->n_marks,
                       .length_s = (double)test->n_frames / test->rate_hz,
                       .piece_s = test->mark_s,
                       .begins = true};
  for (size_t i = 0; i < test->n_marks; ++i) {
    pattern.pieces[i] =
      (VwPatternPiece){.place_s = test->marks[i].place_s,
                       .wave = test->marks[i].falls ? 1U : 0U,
                       .timed = test->marks[i].in == VW_MARK_ALL};
  }
  return pattern;
}

/// A mark at a time, as far as a sample rate carries it.
static float
mark_heard_at(const VwTestSound* test,
              bool               falls,
              double             time_s,
              double             rate_hz) {
  const double part = time_s / test->mark_s;
  const double up = falls ? 1.0 - part : part;
  const double pitch_hz = test->low_hz + up * (test->high_hz - test->low_hz);
  const double left = (CARRIED_MOST * rate_hz - pitch_hz) /
                      ((CARRIED_MOST - CARRIED_WELL) * rate_hz);
  return (float)(fmin(fmax(left, 0.0), 1.0) *
                 vw_test_mark_at(test, falls, time_s));
}

/// Leave out what lies below all marks.
static VwStatus
drop_hum(const VwTestSound* test, VwListening* listening) {
  VwSound        high = {0};
  const VwStatus st =
    vw_listen_above(listening, HUM_PART * test->low_hz, &high);
  if (!st) {
    vw_sound_clear(&listening->sound);
    listening->sound = high;
  }
  return st;
}

/// Listen for one glide, as far as the recording's rate carries it.
static VwStatus
listen_for_mark(const VwTestSound* test, bool falls, VwListening* listening) {
  const double rate_hz = listening->sound.rate_hz;
  const size_t n = (size_t)(test->mark_s * rate_hz);
  float* const wave = calloc(n, sizeof(float));
  for (size_t i = 0; wave && i < n; ++i) {
    wave[i] = mark_heard_at(test, falls, (double)i / rate_hz, rate_hz);
  }
  const VwStatus st = wave ? vw_listen_for(listening, wave, n) : VW_NO_MEMORY;
  free(wave);
  return st;
}

static VwGaugedBoard
nothing(void) {
  return (VwGaugedBoard){.first_gap_s = NAN,
                         .gap_long_s = NAN,
                         .repeat_s = NAN,
                         .gap_ms = vw_gauge_not_found(VW_ONE_REPEAT),
                         .gap_jitter_ms = NAN,
                         .clock_ppm = vw_gauge_not_found(VW_ONE_REPEAT),
                         .delay_ms = vw_gauge_not_found(VW_NO_CLICK),
                         .delay_spread_ms = NAN,
                         .press_ms = vw_gauge_not_found(VW_NO_CLICK),
                         .silent_press_ms = NAN,
                         .release = vw_gauge_not_found(VW_ENDS_EARLY),
                         .channels = vw_gauge_not_found(VW_ONE_REPEAT),
                         .signs = {NAN, NAN, NAN, NAN, NAN, NAN, NAN}};
}

/// How many marks are heard, wherever they lie.
static size_t
count_marks(const VwListening* listening) {
  size_t n = 0;
  for (size_t w = 0; w < listening->n_waves; ++w) {
    const float* const near = listening->waves[w].near;
    for (size_t i = 1; i < listening->n_hops; ++i) {
      n += near[i] >= MARK_LIKENESS && near[i - 1U] < MARK_LIKENESS ? 1U : 0U;
    }
  }
  return n;
}

static VwStatus
judge(VwGaugeCase* all) {
  if (!all->plays.n) {
    all->board->n_strange = count_marks(all->listening);
    return VW_OK;
  }
  VwStatus st = vw_signs_find(all->listening,
                              all->pattern,
                              &all->plays,
                              VW_CLICKS_OVER_MARKS * all->test->high_hz,
                              &all->board->signs);
  st = st ? st : find_times(all);
  find_channels(all);
  return st ? st : vw_press_find(all);
}

VwStatus
vw_gauge_by_test(const VwSound*     recording,
                 const VwTestSound* test,
                 VwGaugedBoard*     board) {
  const VwPattern pattern = pattern_of(test);
  VwListening     listening = {0};
  VwGaugedBoard   found = nothing();
  VwTake          take = {0};
  VwGaugeCase     all = {.pattern = &pattern,
                         .test = test,
                         .listening = &listening,
                         .board = &found};
  VwStatus        st = vw_take_prepare(recording, &take);
  st = st ? st : vw_listen_to(&take.sound, &listening);
  st = st ? st : drop_hum(test, &listening);
  st = st ? st : listen_for_mark(test, false, &listening);
  st = st ? st : listen_for_mark(test, true, &listening);
  st = st ? st : vw_plays_find(&listening, &pattern, &all.plays);
  st = st ? st
          : vw_clicks_find(
              &listening, VW_CLICKS_OVER_MARKS * test->high_hz, &all.clicks);
  st = st ? st : judge(&all);
  if (!st) {
    found.signs.clipped =
      (double)take.n_clipped_frames / (double)take.sound.n_frames;
    *board = found;
  }
  free(all.runs);
  vw_plays_clear(&all.plays);
  vw_listen_clear(&listening);
  vw_take_clear(&take);
  return st;
}

/* By a loop: pieces of it are what marks are in a test sound. */

static double
energy_of(const VwSound* sound, size_t from, size_t n) {
  double energy = 0.0;
  for (size_t i = from; i < from + n; ++i) {
    energy += vw_sound_power_at(sound, i);
  }
  return energy;
}

/// Cut a loop into pieces of equal length, the loud ones of which are listened
/// for.
static VwStatus
cut(const VwSound* loop, VwListening* listening, VwPattern* pattern) {
  const double length_s = (double)loop->n_frames / loop->rate_hz;
  const size_t n =
    (size_t)fmin(fmax(length_s / PIECE_EACH_S, PIECES_LEAST), VW_PIECES_MOST);
  const size_t n_each = loop->n_frames / n;
  const size_t n_most = vw_frames_of_s(PIECE_MOST_S, loop->rate_hz);
  const size_t n_piece = n_each < n_most ? n_each : n_most;
  double       loudest = 0.0;
  VwStatus     st = VW_OK;
  pattern->piece_s = (double)n_piece / loop->rate_hz;
  for (size_t i = 0; i < n; ++i) {
    loudest = fmax(loudest, energy_of(loop, i * n_each, n_piece));
  }
  for (size_t i = 0; !st && i < n; ++i) {
    const size_t from = i * n_each;
    if (energy_of(loop, from, n_piece) >
        loudest * vw_power_of_db(-PIECE_SOFT_DB)) {
      pattern->pieces[pattern->n_pieces] =
        (VwPatternPiece){(double)from / loop->rate_hz, pattern->n_pieces, true};
      ++pattern->n_pieces;
      st = vw_listen_for(listening, loop->values + from, n_piece);
    }
  }
  return st;
}

/// The loop as the recording is listened to.
static VwStatus
prepare_loop(const VwSound* loop, unsigned rate_hz, VwSound* out) {
  VwTake    take = {0};
  VwSound   one = {0};
  VwDownmix how;
  VwStatus  st = vw_take_prepare(loop, &take);
  st = st ? st : vw_downmix(&take.sound, 1U, &how, &one);
  st = st ? st : vw_convert(&one, rate_hz, out);
  vw_sound_clear(&one);
  vw_take_clear(&take);
  return st;
}

/// What is not asked of a loop.
static void
leave_out(VwGaugedBoard* board) {
  const VwGauged not_asked = vw_gauge_not_found(VW_NOT_ASKED);
  board->delay_ms = not_asked;
  board->press_ms = not_asked;
  board->release = not_asked;
  board->channels = not_asked;
  if (!board->n_whole) {
    board->gap_ms = vw_gauge_not_found(VW_ONE_REPEAT);
  }
}

static VwStatus
judge_loop(VwGaugeCase* all) {
  const VwStatus st = find_times(all);
  leave_out(all->board);
  if (!st && all->plays.even) {
    all->board->n_running = 0;
    all->board->gap_ms = vw_gauge_not_found(VW_EVEN);
    all->board->clock_ppm = vw_gauge_not_found(VW_EVEN);
  }
  return st;
}

VwStatus
vw_gauge_by_loop(const VwSound* recording,
                 const VwSound* loop,
                 VwGaugedBoard* board) {
  VwPattern     pattern = {.length_s =
                             (double)loop->n_frames / (double)loop->rate_hz};
  VwListening   listening = {0};
  VwGaugedBoard found = nothing();
  VwTake        take = {0};
  VwSound       played = {0};
  VwGaugeCase   all = {
      .pattern = &pattern, .listening = &listening, .board = &found};
  VwStatus st = vw_take_prepare(recording, &take);
  st = st ? st : vw_listen_to(&take.sound, &listening);
  st = st ? st : prepare_loop(loop, listening.sound.rate_hz, &played);
  st = st ? st : cut(&played, &listening, &pattern);
  st = st ? st : vw_plays_find(&listening, &pattern, &all.plays);
  st = st ? st : judge_loop(&all);
  if (!st) {
    found.signs.clipped =
      (double)take.n_clipped_frames / (double)take.sound.n_frames;
    *board = found;
  }
  vw_plays_clear(&all.plays);
  vw_sound_clear(&played);
  vw_listen_clear(&listening);
  vw_take_clear(&take);
  return st;
}
