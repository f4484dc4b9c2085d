// When a board played its file: whole, and where it began it only.

#include "base/units.h"
#include "gauge/board/internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A file is there if its pieces are alike to what is heard by so much in the
// mean: noise is by 0.2, and what else lies over them takes from 1 (chosen
// here, by simulated recordings, as all below).
#define WHOLE_LIKENESS 0.45F

// So much of the best that there is.
#define WHOLE_OF_BEST 0.7F

// What a play costs in a row, and what the time between two of them does, as
// long as they may follow each other.
#define ROW_COST 0.3
#define ROW_COST_PER_S 0.2
#define ROW_MOST_S 1.0

// A single piece that stands for itself.
#define PIECE_LIKENESS 0.5F

// Two plays do not overlap, but for the error of a board's clock.
#define APART 0.96

// Clocks without a crystal are off by up to 3 %. Those with one are so near
// that nothing has to be tried.
#define RATIO_STEP 0.0006
#define RATIO_STEPS 50

// As many other beginnings of a file are tried, each by how much less it
// misses. A file is even if it is nearly as alike half of the time.
#define PHASES_MOST 24
#define PHASE_BETTER 0.8
#define EVEN_SCORE 0.85F

/// Where plays are looked for.
typedef struct {
  VwListening*     listening;
  const VwPattern* pattern;
  VwPlays*         plays;
  double           ratio;
  float*           score; ///< Of a play that begins in each hop. Owned.
  bool*            taken; ///< A play lies over this hop. Owned.
} Search;

/* How well a whole file fits */

static float
near_at(const Search* search, size_t wave, double time_s) {
  const VwListening* const listening = search->listening;
  const double             hop = time_s / listening->hop_s + 0.5;
  return hop >= 0.0 && hop < (double)listening->n_hops
           ? listening->waves[wave].near[(size_t)hop]
           : 0.0F;
}

/// The mean likeness of the timed pieces of a file that starts in a hop.
static float
score_at(const Search* search, size_t hop) {
  const VwPattern* const pattern = search->pattern;
  const double           start_s = (double)hop * search->listening->hop_s;
  float                  sum = 0.0F;
  float                  n = 0.0F;
  for (size_t i = 0; i < pattern->n_pieces; ++i) {
    const VwPatternPiece* const piece = &pattern->pieces[i];
    if (piece->timed) {
      sum +=
        near_at(search, piece->wave, start_s + search->ratio * piece->place_s);
      n += 1.0F;
    }
  }
  return sum / n;
}

/// Score all hops. Returns the best one.
static float
score_all(Search* search) {
  float best = 0.0F;
  for (size_t i = 0; i < search->listening->n_hops; ++i) {
    search->score[i] = score_at(search, i);
    best = fmaxf(best, search->score[i]);
  }
  return best;
}

/// Try clocks that are further off, where the nominal one finds nothing.
static float
try_ratios(Search* search) {
  float  best = score_all(search);
  double ratio = search->ratio;
  if (best >= WHOLE_LIKENESS) {
    return best;
  }
  for (int i = -RATIO_STEPS; i <= RATIO_STEPS; ++i) {
    search->ratio = 1.0 + RATIO_STEP * i;
    const float score = score_all(search);
    if (score > best) {
      best = score;
      ratio = search->ratio;
    }
  }
  search->ratio = ratio;
  return score_all(search);
}

/* Plays */

static VwPlay*
add_play(VwPlays* plays, double start_s) {
  if (plays->n == plays->n_room) {
    const size_t  n_room = plays->n_room ? 2U * plays->n_room : 16U;
    VwPlay* const wider = realloc(plays->plays, n_room * sizeof(VwPlay));
    if (!wider) {
      return NULL;
    }
    plays->plays = wider;
    plays->n_room = n_room;
  }
  plays->plays[plays->n] = (VwPlay){.start_s = start_s};
  return &plays->plays[plays->n++];
}

/// Mark the hops over which a play lies.
static void
take_hops(Search* search, double from_s, double to_s) {
  const double hop_s = search->listening->hop_s;
  const double last = (double)search->listening->n_hops;
  const double from = fmin(fmax(from_s / hop_s, 0.0), last);
  const double to = fmin(fmax(to_s / hop_s, 0.0), last);
  for (size_t i = (size_t)from; i < (size_t)to; ++i) {
    search->taken[i] = true;
  }
}

static int
compare(const void* a, const void* b) {
  return vw_compare_doubles(&((const VwPlay*)a)->start_s,
                            &((const VwPlay*)b)->start_s);
}

/// Of equal hops in a row, which hold the same top, the middle.
static double
middle_of(const Search* search, size_t hop) {
  size_t n = 1U;
  while (hop + n < search->listening->n_hops &&
         search->score[hop + n] > search->score[hop] - 0.01F) {
    ++n;
  }
  return ((double)hop + 0.5 * (double)(n - 1U)) * search->listening->hop_s;
}

/// A play that may be.
typedef struct {
  double start_s;
  double sum;    ///< Of the best row of plays that ends with it.
  size_t before; ///< The play before it in that row; itself: none.
} Offer;

/// The tops of the score.
static size_t
gather_offers(const Search* search, float least, Offer* offers) {
  const float* const score = search->score;
  size_t             n = 0;
  for (size_t i = 1; i + 1U < search->listening->n_hops; ++i) {
    if (score[i] >= least && score[i] > score[i - 1U] &&
        score[i] >= score[i + 1U]) {
      offers[n] = (Offer){middle_of(search, i), (double)score[i] - ROW_COST, n};
      ++n;
    }
  }
  return n;
}

/// Join offers to the row of plays that fit best and do not overlap: the nearer
/// they follow each other the better, if all else is the same. Returns the
/// last.
static size_t
join_offers(const Search* search, Offer* offers, size_t n) {
  const double apart_s = search->pattern->length_s * search->ratio * APART;
  size_t       best = 0;
  for (size_t i = 0, free = 0, of = 0; i < n; ++i) {
    for (; offers[free].start_s <= offers[i].start_s - apart_s; ++free) {
      // What a row is worth sinks with the time since.
      const double since_s = offers[free].start_s - offers[of].start_s;
      of =
        !free || offers[free].sum >= offers[of].sum - ROW_COST_PER_S * since_s
          ? free
          : of;
    }
    if (free) {
      const double since_s =
        fmin(offers[i].start_s - offers[of].start_s - apart_s, ROW_MOST_S);
      const double sum = offers[of].sum - ROW_COST_PER_S * since_s;
      offers[i].before = sum > 0.0 ? of : i;
      offers[i].sum += fmax(sum, 0.0);
    }
    best = offers[i].sum > offers[best].sum ? i : best;
  }
  return best;
}

/// Find the row of whole plays.
static VwStatus
find_whole(Search* search, float best) {
  const float  least = fmaxf(WHOLE_LIKENESS, WHOLE_OF_BEST * best);
  Offer* const offers = calloc(search->listening->n_hops, sizeof(Offer));
  const size_t n = offers ? gather_offers(search, least, offers) : 0U;
  VwStatus     st = offers ? VW_OK : VW_NO_MEMORY;
  for (size_t i = n ? join_offers(search, offers, n) : 0U; n && !st;) {
    st = add_play(search->plays, offers[i].start_s) ? VW_OK : VW_NO_MEMORY;
    if (offers[i].before == i) {
      break;
    }
    i = offers[i].before;
  }
  free(offers);
  qsort(search->plays->plays, search->plays->n, sizeof(VwPlay), compare);
  return st;
}

/* Files that only began */

/// How much of a file is heard from a hop on: pieces in a row, one of which may
/// be missed. Set `n` to how many.
static double
begun_at(const Search* search, double start_s, size_t* n) {
  const VwPattern* const pattern = search->pattern;
  double                 sum = 0.0;
  double                 best = 0.0;
  *n = 0;
  for (size_t i = 0, missed = 0; i < pattern->n_pieces && missed < 2U; ++i) {
    const VwPatternPiece* const piece = &pattern->pieces[i];
    if (piece->timed) {
      const float near = near_at(
        search, piece->wave, start_s + search->plays->ratio * piece->place_s);
      missed = near < PIECE_LIKENESS ? missed + 1U : 0U;
      sum += (double)near - 0.4;
      *n = missed ? *n : i + 1U;
      best = missed ? best : sum;
    }
  }
  // Marks that not every board plays may follow.
  while (*n && *n < pattern->n_pieces && !pattern->pieces[*n].timed) {
    ++*n;
  }
  return best;
}

/// The free hop from which on most of a file is heard.
static double
best_begun(const Search* search, size_t* n) {
  const VwPatternPiece* const first = &search->pattern->pieces[0];
  const float* const          near = search->listening->waves[first->wave].near;
  double                      best = 0.0;
  double                      best_s = 0.0;
  for (size_t i = 0; i < search->listening->n_hops; ++i) {
    // The first piece has to be there.
    if (!search->taken[i] && near[i] >= PIECE_LIKENESS) {
      size_t       n_here = 0;
      const double start_s = (double)i * search->listening->hop_s;
      const double sum = begun_at(search, start_s, &n_here);
      if (sum > best + 0.01) {
        best = sum;
        best_s = start_s + search->listening->hop_s;
        *n = n_here;
      }
    }
  }
  return best > 0.0 ? best_s : -1.0;
}

static VwStatus
find_begun(Search* search) {
  const VwPattern* const pattern = search->pattern;
  const double           ratio = search->plays->ratio;
  const double           piece_s = pattern->piece_s;
  // Over a whole play nothing else begins.
  memset(search->taken, 0, search->listening->n_hops * sizeof(bool));
  for (size_t p = 0; p < search->plays->n; ++p) {
    const double start_s = search->plays->plays[p].start_s;
    take_hops(search,
              start_s - piece_s,
              start_s + ratio * pattern->length_s - piece_s / 2.0);
  }
  for (;;) {
    size_t       n = 0;
    const double start_s = best_begun(search, &n);
    if (start_s < 0.0) {
      return VW_OK;
    }
    if (!add_play(search->plays, start_s)) {
      return VW_NO_MEMORY;
    }
    take_hops(search,
              start_s - piece_s,
              start_s + ratio * pattern->pieces[n - 1U].place_s + piece_s);
  }
}

/// Take away what turns out to be nothing.
static void
drop_empty(VwPlays* plays) {
  size_t n = 0;
  for (size_t p = 0; p < plays->n; ++p) {
    if (plays->plays[p].n_there && plays->plays[p].pieces[0].there) {
      plays->plays[n++] = plays->plays[p];
    }
  }
  plays->n = n;
  qsort(plays->plays, n, sizeof(VwPlay), compare);
}

/* Files that are alike to themselves */

/// How badly plays fit: the RMS of all pieces, those that do not fit as far off
/// as they may be.
static double
misfit_of(const Search* search) {
  const VwPlays* const plays = search->plays;
  double               sum = 0.0;
  double               n = 0.0;
  for (size_t p = 0; p < plays->n; ++p) {
    const double n_fit = (double)plays->plays[p].n_fit;
    const double n_off = (double)search->pattern->n_pieces - n_fit;
    sum += n_fit * plays->spread_s * plays->spread_s +
           n_off * VW_REACH_S * VW_REACH_S;
    n += n_fit + n_off;
  }
  return sqrt(sum / n);
}

/// The next top of the score within one file behind a time, where the plays may
/// begin as well; -1 without one.
static double
next_phase(const Search* search, double from_s, double to_s) {
  const double hop_s = search->listening->hop_s;
  const float* score = search->score;
  for (size_t i = (size_t)(from_s / hop_s) + 4U;
       (double)i * hop_s < to_s && i + 1U < search->listening->n_hops;
       ++i) {
    if (score[i] >= WHOLE_LIKENESS && score[i] > score[i - 1U] &&
        score[i] >= score[i + 1U]) {
      return middle_of(search, i);
    }
  }
  return -1.0;
}

/// Move all plays, and hear them there.
static VwStatus
move_plays(Search* search, const VwPlays* from, double by_s) {
  VwPlays* const plays = search->plays;
  plays->n = 0;
  plays->ratio = search->ratio;
  for (size_t p = 0; p < from->n; ++p) {
    if (!add_play(plays, from->plays[p].start_s + by_s)) {
      return VW_NO_MEMORY;
    }
  }
  return vw_plays_hear(search->listening, search->pattern, plays, false);
}

/// If the file is several equal shots, it may begin with any of them: the one
/// from which on its pieces lie on lines does.
static VwStatus
choose_phase(Search* search) {
  VwPlays      first = *search->plays;
  VwPlays      best = first;
  double       least = misfit_of(search);
  const double start_s = first.plays[first.n / 2U].start_s;
  const double end_s =
    start_s + search->ratio * search->pattern->length_s * APART;
  VwStatus st = VW_OK;
  double   at_s = next_phase(search, start_s, end_s);
  for (int i = 0; !st && at_s >= 0.0 && i < PHASES_MOST; ++i) {
    *search->plays = (VwPlays){0};
    st = move_plays(search, &first, at_s - start_s);
    const double misfit = st ? INFINITY : misfit_of(search);
    if (misfit < least * PHASE_BETTER) {
      least = misfit;
      if (best.plays != first.plays) {
        vw_plays_clear(&best);
      }
      best = *search->plays;
    } else {
      vw_plays_clear(search->plays);
    }
    at_s = next_phase(search, at_s, end_s);
  }
  if (best.plays != first.plays) {
    vw_plays_clear(&first);
  }
  *search->plays = best;
  return st;
}

/// Whether the file is found everywhere: it sounds the same all along.
static bool
is_even(const Search* search, float best) {
  const VwPlays* const plays = search->plays;
  const double         hop_s = search->listening->hop_s;
  const double         from_s = plays->plays[0].start_s;
  const double         to_s = plays->plays[plays->n - 1U].start_s;
  size_t               n = 0;
  size_t               n_near = 0;
  for (size_t i = (size_t)(fmax(from_s, 0.0) / hop_s); (double)i * hop_s < to_s;
       ++i) {
    n_near += search->score[i] > EVEN_SCORE * best ? 1U : 0U;
    ++n;
  }
  return 2U * n_near > n;
}

static VwStatus
find(Search* search, bool begun) {
  const float best = try_ratios(search);
  search->plays->ratio = search->ratio;
  VwStatus st = best < WHOLE_LIKENESS ? VW_OK : find_whole(search, best);
  if (st || !search->plays->n) {
    return st;
  }
  search->plays->even = is_even(search, best);
  st = vw_plays_hear(search->listening, search->pattern, search->plays, begun);
  if (!st && !begun) {
    st = choose_phase(search);
  }
  if (!st && begun) {
    st = find_begun(search);
    st = st ? st
            : vw_plays_hear(
                search->listening, search->pattern, search->plays, true);
    drop_empty(search->plays);
  }
  qsort(search->plays->plays, search->plays->n, sizeof(VwPlay), compare);
  return st;
}

VwStatus
vw_plays_find(VwListening*     listening,
              const VwPattern* pattern,
              VwPlays*         plays) {
  Search search = {.listening = listening,
                   .pattern = pattern,
                   .plays = plays,
                   .ratio = 1.0,
                   .score = calloc(listening->n_hops, sizeof(float)),
                   .taken = calloc(listening->n_hops, sizeof(bool))};
  *plays = (VwPlays){.ratio = 1.0, .ratio_error = INFINITY};
  VwStatus st = search.score && search.taken ? VW_OK : VW_NO_MEMORY;
  st = st ? st : find(&search, pattern->begins);
  free(search.score);
  free(search.taken);
  if (st) {
    vw_plays_clear(plays);
  }
  return st;
}

void
vw_plays_clear(VwPlays* plays) {
  if (plays) {
    free(plays->plays);
    *plays = (VwPlays){0};
  }
}
