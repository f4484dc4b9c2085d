// What is heard of each play: its pieces, the room that they sound in, and two
// clocks: a line through all pieces, each play with a start of its own.

#include "base/units.h"
#include "gauge/board/internal.h"

#include <math.h>
#include <stdlib.h>

// A piece is alike by so much, and no softer beside the median of all (chosen
// here, by simulated recordings).
#define PIECE_LEAST 0.25
#define PIECE_DB (-26.0)

// How far from its place a piece is looked for at first: as far as hops are
// coarse and clocks unknown.
#define REACH_FIRST_S 0.003

// What is heard of a mark in a room: from before the loudest on, and how much
// lower the first is that counts. An echo is farther behind than a mark is
// wide.
#define ROOM_BEFORE_S 0.02
#define ROOM_FIRST_DB (-6.0)
#define ECHO_FROM_S 0.0015

// Rounds of leaving out what does not lie on its line, and how far from it a
// piece may be: in the first as far as an echo of a small room may be, then as
// pieces are spread, but at least as a frame.
#define FIT_ROUNDS 5
#define FIT_FIRST_S 0.0015
#define FIT_SPREADS 4.0
#define FIT_LEAST_S 0.00004

// What the ratio of two clocks with crystals deviates from 1 by: each is within
// 100 ppm (common practice).
#define CRYSTALS 0.0001

/* Two clocks */

/// How far a piece lies from its line.
static double
miss_of(const VwPattern* pattern, const VwPlays* plays, size_t play, size_t i) {
  const VwPlay* const of = &plays->plays[play];
  return of->pieces[i].heard.time_s - of->start_s -
         plays->ratio * pattern->pieces[i].place_s;
}

static bool
is_timed(const VwPattern* pattern, const VwPlay* play, size_t i) {
  return play->pieces[i].there && pattern->pieces[i].timed;
}

/// Start each play at the median of what its pieces say.
static void
start_by_medians(const VwPattern* pattern, VwPlays* plays) {
  for (size_t p = 0; p < plays->n; ++p) {
    VwPlay* const play = &plays->plays[p];
    double        starts[VW_PIECES_MOST];
    size_t        n = 0;
    for (size_t i = 0; i < pattern->n_pieces; ++i) {
      if (is_timed(pattern, play, i)) {
        starts[n++] = play->start_s + miss_of(pattern, plays, p, i);
      }
    }
    qsort(starts, n, sizeof(double), vw_compare_doubles);
    play->start_s =
      n ? 0.5 * (starts[n / 2U] + starts[(n - 1U) / 2U]) : play->start_s;
  }
}

/// Which pieces lie within a distance of their lines.
static void
choose(const VwPattern* pattern, VwPlays* plays, double within_s) {
  for (size_t p = 0; p < plays->n; ++p) {
    VwPlay* const play = &plays->plays[p];
    play->n_fit = 0;
    for (size_t i = 0; i < pattern->n_pieces; ++i) {
      play->pieces[i].fits = is_timed(pattern, play, i) &&
                             fabs(miss_of(pattern, plays, p, i)) <= within_s;
      play->n_fit += play->pieces[i].fits ? 1U : 0U;
    }
  }
}

/// Sums of a line with one slope and many starts.
typedef struct {
  double xx;
  double xy;
  double squares; ///< Of the distances.
  size_t n;
  size_t n_starts;
} Sums;

/// Add a play, its own means taken away: in squares before it is fitted.
static void
add_play(const VwPattern* pattern, const VwPlay* play, Sums* sums) {
  double mean_x = 0.0;
  double mean_y = 0.0;
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    if (play->pieces[i].fits) {
      mean_x += pattern->pieces[i].place_s / (double)play->n_fit;
      mean_y += play->pieces[i].heard.time_s / (double)play->n_fit;
    }
  }
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    if (play->pieces[i].fits) {
      const double x = pattern->pieces[i].place_s - mean_x;
      sums->xx += x * x;
      sums->xy += x * (play->pieces[i].heard.time_s - mean_y);
      ++sums->n;
    }
  }
  sums->n_starts += play->n_fit ? 1U : 0U;
}

/// Start a play where the mean of its pieces says.
static void
start_by_mean(const VwPattern* pattern, VwPlays* plays, size_t p, Sums* sums) {
  VwPlay* const play = &plays->plays[p];
  double        mean_s = 0.0;
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    mean_s += play->pieces[i].fits
                ? miss_of(pattern, plays, p, i) / (double)play->n_fit
                : 0.0;
  }
  play->start_s += mean_s;
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    const double miss = miss_of(pattern, plays, p, i);
    sums->squares += play->pieces[i].fits ? miss * miss : 0.0;
  }
}

static void
fit(const VwPattern* pattern, VwPlays* plays) {
  Sums sums = {0};
  for (size_t p = 0; p < plays->n; ++p) {
    add_play(pattern, &plays->plays[p], &sums);
  }
  if (sums.n < sums.n_starts + 2U || !(sums.xx > 0.0)) {
    plays->ratio_error = INFINITY;
    return;
  }
  plays->ratio = sums.xy / sums.xx;
  for (size_t p = 0; p < plays->n; ++p) {
    if (plays->plays[p].n_fit) {
      start_by_mean(pattern, plays, p, &sums);
    }
  }
  const double free = (double)(sums.n - sums.n_starts) - 1.0;
  plays->spread_s = sqrt(sums.squares / free);
  // 95 % of a normal distribution lie within 1.96 of its deviation.
  plays->ratio_error = 1.96 * plays->spread_s / sqrt(sums.xx);
}

/// How far off the ratio may be because a piece is heard early or late each
/// time, as other sounds lie over it: by what the pieces miss in the mean.
static double
error_of_pieces(const VwPattern* pattern, const VwPlays* plays) {
  double means[VW_PIECES_MOST] = {0};
  double places[VW_PIECES_MOST];
  double place_s = 0.0;
  double xx = 0.0;
  double squares = 0.0;
  size_t n = 0;
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    size_t n_fit = 0;
    double sum = 0.0;
    for (size_t p = 0; p < plays->n; ++p) {
      const bool fits = plays->plays[p].pieces[i].fits;
      sum += fits ? miss_of(pattern, plays, p, i) : 0.0;
      n_fit += fits ? 1U : 0U;
    }
    if (n_fit) {
      means[n] = sum / (double)n_fit;
      places[n] = pattern->pieces[i].place_s;
      place_s += places[n++];
    }
  }
  for (size_t i = 0; i < n; ++i) {
    xx += (places[i] - place_s / (double)n) * (places[i] - place_s / (double)n);
    squares += means[i] * means[i];
  }
  // Of few pieces the deviation is not known well: an approximation of
  // Student's distribution at 97.5 %.
  const double free = (double)n - 2.0;
  return free > 0.0 && xx > 0.0 ? (1.96 + 2.4 / free + 8.3 / (free * free)) *
                                    sqrt(squares / free / xx)
                                : INFINITY;
}

/// If a clock is known worse than clocks are made, take them into account; but
/// not if it is plainly off. What makes a short file off by no more than its
/// pieces may miss is no clock.
static void
weigh_with_crystals(const VwPattern* pattern, VwPlays* plays) {
  const double off = plays->ratio - 1.0;
  const double error = plays->ratio_error / 1.96;
  const bool   fits = fabs(off) < 3.0 * error + 3.0 * CRYSTALS;
  if (!fits && plays->ratio_error > CRYSTALS &&
      fabs(off) * pattern->length_s < 2.0 * FIT_FIRST_S) {
    plays->ratio = 1.0;
    plays->ratio_error = fabs(off);
    plays->ratio_weighed = 1.96 * CRYSTALS;
  } else if (fits) {
    const double both = CRYSTALS * CRYSTALS + error * error;
    const double share = isfinite(both) ? CRYSTALS * CRYSTALS / both : 0.0;
    plays->ratio = 1.0 + share * off;
    plays->ratio_weighed = 1.96 * sqrt(isfinite(both) ? share : 1.0) *
                           (isfinite(both) ? error : CRYSTALS);
  } else {
    plays->ratio_weighed = plays->ratio_error;
  }
}

static void
fit_clocks(const VwPattern* pattern, VwPlays* plays) {
  double within_s = FIT_FIRST_S;
  start_by_medians(pattern, plays);
  for (int i = 0; i < FIT_ROUNDS; ++i) {
    choose(pattern, plays, within_s);
    fit(pattern, plays);
    within_s = fmin(fmax(FIT_SPREADS * plays->spread_s, FIT_LEAST_S), within_s);
  }
  plays->ratio_error =
    fmax(plays->ratio_error, error_of_pieces(pattern, plays));
  weigh_with_crystals(pattern, plays);
}

/// What is heard where.
typedef struct {
  VwListening*     listening;
  const VwPattern* pattern;
  VwPlays*         plays;
} Hearing;

/* Pieces */

static void
hear_piece(const Hearing* hearing, VwPlay* play, size_t i, double reach_s) {
  const VwPatternPiece* const piece = &hearing->pattern->pieces[i];
  const double   at_s = play->start_s + hearing->plays->ratio * piece->place_s;
  const VwSound* sound = &hearing->listening->sound;
  const double   end_s = (double)sound->n_frames / sound->rate_hz;
  VwPieceHeard*  heard = &play->pieces[i];
  heard->beyond = at_s + hearing->pattern->piece_s > end_s;
  heard->there = !heard->beyond && at_s > -reach_s;
  if (heard->there) {
    heard->heard =
      vw_listen_about(hearing->listening, piece->wave, at_s, reach_s);
    heard->there = heard->heard.likeness >= PIECE_LEAST;
  }
}

/// Leave out pieces that are far softer than most.
static void
drop_soft(const VwPattern* pattern, VwPlays* plays, double* heights) {
  size_t n = 0;
  for (size_t p = 0; p < plays->n; ++p) {
    for (size_t i = 0; i < pattern->n_pieces; ++i) {
      const VwPieceHeard* const heard = &plays->plays[p].pieces[i];
      if (heard->there && pattern->pieces[i].timed) {
        heights[n++] = heard->heard.height;
      }
    }
  }
  qsort(heights, n, sizeof(double), vw_compare_doubles);
  const double least = n ? heights[n / 2U] * vw_gain_of_db(PIECE_DB) : 0.0;
  for (size_t p = 0; p < plays->n; ++p) {
    VwPlay* const play = &plays->plays[p];
    play->n_there = 0;
    for (size_t i = 0; i < pattern->n_pieces; ++i) {
      play->pieces[i].there =
        play->pieces[i].there && play->pieces[i].heard.height >= least;
      play->n_there += play->pieces[i].there ? 1U : 0U;
    }
  }
}

static VwStatus
hear_pieces(const Hearing* hearing, double reach_s) {
  VwPlays* const plays = hearing->plays;
  double* const  heights =
    calloc(plays->n * hearing->pattern->n_pieces + 1U, sizeof(double));
  for (size_t p = 0; heights && p < plays->n; ++p) {
    for (size_t i = 0; i < hearing->pattern->n_pieces; ++i) {
      hear_piece(hearing, &plays->plays[p], i, reach_s);
    }
  }
  if (heights) {
    drop_soft(hearing->pattern, plays, heights);
  }
  free(heights);
  return heights ? VW_OK : VW_NO_MEMORY;
}

/* The room */

/// The mean course of all pieces that fit about their places.
static size_t
mean_course(const Hearing* hearing, double* mean, double* one, size_t n) {
  const VwPattern* const pattern = hearing->pattern;
  const VwPlays* const   plays = hearing->plays;
  size_t                 n_added = 0;
  for (size_t p = 0; p < plays->n; ++p) {
    for (size_t i = 0; i < pattern->n_pieces; ++i) {
      const VwPieceHeard* const piece = &plays->plays[p].pieces[i];
      if (!piece->fits) {
        continue;
      }
      const double at_s =
        plays->plays[p].start_s + plays->ratio * pattern->pieces[i].place_s;
      vw_listen_course(hearing->listening,
                       pattern->pieces[i].wave,
                       at_s - ROOM_BEFORE_S,
                       one,
                       n);
      for (size_t k = 0; k < n; ++k) {
        mean[k] += one[k] / piece->heard.height;
      }
      ++n_added;
    }
  }
  return n_added;
}

/// Note the highest top behind the first, farther than a mark is wide.
static void
note_echo(const Hearing* hearing, const double* mean, size_t first, size_t n) {
  const double rate_hz = hearing->listening->sound.rate_hz;
  size_t       at = 0;
  for (size_t i = first + vw_frames_of_s(ECHO_FROM_S, rate_hz); i + 1U < n;
       ++i) {
    const bool top = mean[i] >= mean[i - 1U] && mean[i] > mean[i + 1U];
    at = top && (!at || mean[i] > mean[at]) ? i : at;
  }
  hearing->plays->echo_s = at ? (double)(at - first) / rate_hz : 0.0;
  hearing->plays->echo_height = at ? mean[at] / mean[first] : 0.0;
}

/// Move all starts to the first top within 6 dB of the highest: what comes
/// later is from a wall.
static VwStatus
start_at_first(const Hearing* hearing) {
  const double  rate_hz = hearing->listening->sound.rate_hz;
  const size_t  n = vw_frames_of_s(2.0 * ROOM_BEFORE_S, rate_hz) + 2U;
  double* const mean = calloc(n, sizeof(double));
  double* const one = calloc(n, sizeof(double));
  size_t        first = 1U;
  double        highest = 0.0;
  const size_t  n_added = mean && one ? mean_course(hearing, mean, one, n) : 0U;
  for (size_t i = 0; n_added && i < n; ++i) {
    highest = fmax(highest, mean[i]);
  }
  const double least = highest * vw_gain_of_db(ROOM_FIRST_DB);
  while (n_added && first + 2U < n &&
         !(mean[first] >= least && mean[first] >= mean[first - 1U] &&
           mean[first] > mean[first + 1U])) {
    ++first;
  }
  if (n_added && first + 2U < n) {
    note_echo(hearing, mean, first, n);
  }
  for (size_t p = 0; n_added && first + 2U < n && p < hearing->plays->n; ++p) {
    hearing->plays->plays[p].start_s += (double)first / rate_hz - ROOM_BEFORE_S;
  }
  const VwStatus st = mean && one ? VW_OK : VW_NO_MEMORY;
  free(one);
  free(mean);
  return st;
}

VwStatus
vw_plays_hear(VwListening*     listening,
              const VwPattern* pattern,
              VwPlays*         plays,
              bool             room) {
  const Hearing hearing = {listening, pattern, plays};
  VwStatus      st = hear_pieces(&hearing, REACH_FIRST_S);
  if (!st) {
    fit_clocks(pattern, plays);
    st = room ? start_at_first(&hearing) : VW_OK;
  }
  st = st ? st : hear_pieces(&hearing, VW_REACH_S);
  if (!st) {
    fit_clocks(pattern, plays);
  }
  return st;
}
