// What the presses of a switch tell of a board: its delay, what it does at the
// release, and the shortest press that sounds.

#include "base/units.h"
#include "board/board.h"
#include "gauge/board/internal.h"

#include <math.h>
#include <stdlib.h>

// The longest delay that a board may have, see base/ranges.h, with room for
// errors.
#define DELAY_MOST_S 5.2

// Delays of one board lie so near together (chosen here).
#define DELAYS_WITHIN_S 0.012

// Marks click by themselves if so many do; one that is so much louder is none
// of theirs. Packing smears a little of them in front.
#define MARKS_CLICK 0.15
#define MARKS_CLICK_DB 8.0
#define MARK_BEFORE_S 0.004

// A click that something softer comes before by this may be an echo of it.
#define CLICK_SMEARED_S 0.0012

// What is less alike to the first piece than that, beside the same piece of the
// play before, is an echo (chosen here: one had 0.66, plays have 0.95).
#define ECHO_LIKENESS 0.8

/* Plays */

/// Whether a play breaks off, within the recording.
static bool
is_cut(const VwGaugeCase* all, const VwPlay* play) {
  return !vw_play_is_whole(all->pattern, play) &&
         !play->pieces[all->pattern->n_pieces - 1U].beyond;
}

static double
end_of(const VwGaugeCase* all, size_t play) {
  return all->plays.plays[play].start_s +
         all->plays.ratio * all->pattern->length_s;
}

double
vw_play_heard_end_s(const VwGaugeCase* all, size_t play) {
  const VwPlay* const of = &all->plays.plays[play];
  double              end_s = of->start_s;
  for (size_t i = 0; i < all->pattern->n_pieces; ++i) {
    if (of->pieces[i].there) {
      end_s = of->start_s + all->plays.ratio * all->pattern->pieces[i].place_s +
              all->pattern->piece_s;
    }
  }
  return end_s;
}

/* Runs */

/// Whether a play follows on the one before as the trigger is held.
static bool
follows(const VwGaugeCase* all, size_t play) {
  return all->board->n_gaps && !all->plays.plays[play].pressed &&
         vw_play_is_whole(all->pattern, &all->plays.plays[play - 1U]) &&
         fabs(vw_gauge_gap_behind(all, play - 1U) - all->gap_s) <=
           VW_GAPS_WITHIN_S;
}

static VwStatus
find_runs(VwGaugeCase* all) {
  free(all->runs);
  all->n_runs = 0;
  all->runs = calloc(all->plays.n + 1U, sizeof(VwRun));
  if (!all->runs) {
    return VW_NO_MEMORY;
  }
  for (size_t p = 0; p < all->plays.n; ++p) {
    if (p && follows(all, p)) {
      all->runs[all->n_runs - 1U].last = p;
    } else {
      all->runs[all->n_runs++] = (VwRun){p, p, -1};
    }
  }
  all->board->n_presses = all->n_runs;
  return VW_OK;
}

/* Clicks of the marks */

/// Whether a mark is heard at a time.
static bool
is_in_mark(const VwGaugeCase* all, double time_s) {
  for (size_t p = 0; p < all->plays.n; ++p) {
    const VwPlay* const play = &all->plays.plays[p];
    for (size_t i = 0; i < all->pattern->n_pieces; ++i) {
      const double after_s = time_s - play->pieces[i].heard.time_s;
      if (play->pieces[i].there && after_s > -MARK_BEFORE_S &&
          after_s < all->pattern->piece_s) {
        return true;
      }
    }
  }
  return false;
}

/// Leave out what marks let be heard where speakers bend them: if many of them
/// click, those clicks that are no louder than most of these.
static void
drop_bent(VwGaugeCase* all) {
  VwClicks* const clicks = &all->clicks;
  double          levels[VW_CLICKS_MOST];
  bool            in_mark[VW_CLICKS_MOST];
  size_t          n_in = 0;
  size_t          n_marks = 0;
  size_t          n = 0;
  for (size_t i = 0; i < clicks->n; ++i) {
    in_mark[i] = is_in_mark(all, clicks->clicks[i].time_s);
    if (in_mark[i]) {
      levels[n_in++] = clicks->clicks[i].level_db;
    }
  }
  for (size_t p = 0; p < all->plays.n; ++p) {
    n_marks += all->plays.plays[p].n_there;
  }
  qsort(levels, n_in, sizeof(double), vw_compare_doubles);
  const bool many = (double)n_in > MARKS_CLICK * (double)n_marks;
  for (size_t i = 0; i < clicks->n; ++i) {
    if (!many || !in_mark[i] ||
        clicks->clicks[i].level_db > levels[n_in / 2U] + MARKS_CLICK_DB) {
      clicks->clicks[n++] = clicks->clicks[i];
    }
  }
  clicks->n = n;
}

/* Delay */

static double
start_of(const VwGaugeCase* all, const VwRun* run) {
  return all->plays.plays[run->first].start_s;
}

/// The click that lies so long before a play, or -1.
static long
click_before(const VwGaugeCase* all, size_t play, double delay_s) {
  const double start_s = all->plays.plays[play].start_s;
  long         best = -1;
  double       nearest_s = DELAYS_WITHIN_S;
  for (size_t i = 0; i < all->clicks.n; ++i) {
    const double off_s = fabs(start_s - all->clicks.clicks[i].time_s - delay_s);
    if (off_s <= nearest_s) {
      nearest_s = off_s;
      best = (long)i;
    }
  }
  return best;
}

/// How many runs have a click so long before them.
static size_t
support_of(const VwGaugeCase* all, double delay_s) {
  size_t n = 0;
  for (size_t r = 0; r < all->n_runs; ++r) {
    n += click_before(all, all->runs[r].first, delay_s) >= 0 ? 1U : 0U;
  }
  return n;
}

/// Whether a click may have begun a run: nothing sounds between them.
static bool
may_begin(const VwGaugeCase* all, size_t run, const VwClick* click) {
  const double before_s = start_of(all, &all->runs[run]) - click->time_s;
  const double from_s = run
                          ? vw_play_heard_end_s(all, all->runs[run - 1U].last) -
                              all->pattern->piece_s
                          : -INFINITY;
  return before_s >= -0.002 && before_s <= DELAY_MOST_S &&
         click->time_s > from_s;
}

/// The delays that clicks before runs offer, and what speaks for each.
typedef struct {
  double delay_s;
  size_t n_runs;   ///< That have a click so long before them.
  double level_db; ///< Of the click.
} Offer;

static bool
is_better(const Offer* offer, const Offer* than) {
  return offer->n_runs != than->n_runs ? offer->n_runs > than->n_runs
                                       : offer->level_db > than->level_db;
}

/// The best of all offers, and of those of another delay.
static void
best_offers(const VwGaugeCase* all, Offer* best, Offer* second) {
  for (size_t r = 0; r < all->n_runs; ++r) {
    for (size_t i = 0; i < all->clicks.n; ++i) {
      const VwClick* const click = &all->clicks.clicks[i];
      if (!may_begin(all, r, click)) {
        continue;
      }
      const double delay_s = start_of(all, &all->runs[r]) - click->time_s;
      const Offer  offer = {delay_s, support_of(all, delay_s), click->level_db};
      const bool   other = fabs(delay_s - best->delay_s) > DELAYS_WITHIN_S;
      if (is_better(&offer, best)) {
        *second = other ? *best : *second;
        *best = offer;
      } else if (other && is_better(&offer, second)) {
        *second = offer;
      }
    }
  }
}

/// Set the delay to the median of all runs that have a click for it.
static void
set_delay(VwGaugeCase* all, const Offer* best) {
  double delays[VW_CLICKS_MOST];
  double early[VW_CLICKS_MOST];
  size_t n = 0;
  for (size_t r = 0; r < all->n_runs && n < VW_CLICKS_MOST; ++r) {
    VwRun* const run = &all->runs[r];
    run->press = click_before(all, run->first, best->delay_s);
    if (run->press >= 0) {
      const VwClick* const click = &all->clicks.clicks[run->press];
      early[n] = click->early_s;
      delays[n++] = start_of(all, run) - click->time_s;
    }
  }
  qsort(delays, n, sizeof(double), vw_compare_doubles);
  qsort(early, n, sizeof(double), vw_compare_doubles);
  all->board->delay_ms =
    (VwGauged){fmax(1000.0 * delays[n / 2U], 0.0), NAN, VW_GAUGED, false};
  if (early[n / 2U] > CLICK_SMEARED_S ||
      all->board->signs.noise_moves_db < -VW_SIGN_NOISE_MOVES_DB) {
    all->board->delay_ms.why = VW_CLICK_SMEARED;
    all->board->delay_ms.doubt = true;
  }
  all->board->delay_spread_ms =
    n > 1U ? 1000.0 * (delays[n - 1U] - delays[0]) : NAN;
}

static void
find_delay(VwGaugeCase* all) {
  Offer best = {.level_db = -INFINITY, .delay_s = -1.0};
  Offer second = best;
  all->board->delay_spread_ms = NAN;
  best_offers(all, &best, &second);
  if (!best.n_runs) {
    all->board->delay_ms = vw_gauge_not_found(VW_NO_CLICK);
    return;
  }
  set_delay(all, &best);
  if (2U * best.n_runs <= all->n_runs ||
      (second.n_runs == best.n_runs &&
       second.level_db > best.level_db - VW_CLICK_LIKE_DB)) {
    all->board->delay_ms.why = VW_SEVERAL_CLICKS;
    all->board->delay_ms.doubt = true;
  }
}

/* Presses that look like repeats */

/// Whether a play within a run was pressed: a click lies as long before it as
/// one does before the run, and no mark is heard there.
static bool
is_pressed(const VwGaugeCase* all, const VwRun* run, size_t play) {
  const VwClick* const clicks = all->clicks.clicks;
  const long at = click_before(all, play, 0.001 * all->board->delay_ms.value);
  return run->press >= 0 && at >= 0 && !is_in_mark(all, clicks[at].time_s) &&
         clicks[at].level_db > clicks[run->press].level_db - VW_CLICK_LIKE_DB;
}

/// Note them. Returns whether there are any.
static bool
find_pressed(VwGaugeCase* all) {
  bool any = false;
  for (size_t r = 0; r < all->n_runs; ++r) {
    const VwRun* const run = &all->runs[r];
    for (size_t p = run->first + 1U; p <= run->last; ++p) {
      all->plays.plays[p].pressed = is_pressed(all, run, p);
      any = any || all->plays.plays[p].pressed;
    }
  }
  return any;
}

/// Find runs and their delay; if presses followed each other as repeats do,
/// once more without what that made of the gap.
static VwStatus
find_presses(VwGaugeCase* all) {
  VwStatus st = find_runs(all);
  drop_bent(all);
  if (!st) {
    find_delay(all);
  }
  if (!st && find_pressed(all)) {
    st = vw_gauge_gap_find(all);
    st = st ? st : find_runs(all);
    if (!st) {
      find_delay(all);
    }
  }
  return st;
}

/* Release */

/// What a run says of the release.
typedef enum {
  SAYS_NOTHING,
  SAYS_STOPS,
  SAYS_FINISHES,
  SAYS_BETWEEN, ///< It was let go between two repeats.
  SAYS_QUIETLY, ///< It ended with its file, and no click was heard.
  SAYS_ENDS     ///< The recording ends too early.
} Says;

/// How loud a switch clicked between two times, but for that which began it.
static double
clicked(const VwGaugeCase* all, const VwRun* run, double from_s, double to_s) {
  double loudest_db = -INFINITY;
  for (size_t i = 0; i < all->clicks.n; ++i) {
    const VwClick* const click = &all->clicks.clicks[i];
    if ((long)i != run->press && click->time_s > from_s &&
        click->time_s < to_s) {
      loudest_db = fmax(loudest_db, click->level_db);
    }
  }
  return loudest_db;
}

/// The last play of a run, unless that is an echo of the end of the one before:
/// its first piece alone, and less alike than before.
static size_t
last_of(const VwGaugeCase* all, const VwRun* run) {
  if (run->last == run->first) {
    return run->last;
  }
  const VwPlay* const last = &all->plays.plays[run->last];
  const bool          echo =
    last->n_there == 1U && last->pieces[0].heard.likeness <
                             ECHO_LIKENESS * last[-1].pieces[0].heard.likeness;
  return run->last - (echo ? 1U : 0U);
}

static Says
what_says(const VwGaugeCase* all, const VwRun* run) {
  const size_t         at = last_of(all, run);
  const VwPlay* const  last = &all->plays.plays[at];
  const double         ends_s = end_of(all, at);
  const double         marks_s = vw_play_heard_end_s(all, at);
  const double         gap_s = fmax(all->gap_s, 0.0) * all->plays.ratio;
  const VwSound* const sound = &all->listening->sound;
  const double         all_s = (double)sound->n_frames / sound->rate_hz;
  const double         press_s =
    run->press >= 0 ? all->clicks.clicks[run->press].time_s : NAN;
  if (is_cut(all, last)) {
    return SAYS_STOPS;
  }
  if (!vw_play_is_whole(all->pattern, last) ||
      ends_s + gap_s + VW_GAPS_WITHIN_S > all_s) {
    return SAYS_ENDS;
  }
  const double within_db =
    clicked(all, run, last->start_s, marks_s - all->pattern->piece_s);
  const double between_db = clicked(all,
                                    run,
                                    marks_s - all->pattern->piece_s,
                                    ends_s + gap_s + VW_GAPS_WITHIN_S);
  const bool   before = run->first == at && isfinite(press_s) &&
                      isfinite(clicked(all, run, press_s, last->start_s));
  return before || within_db > between_db ? SAYS_FINISHES
         : isfinite(between_db)           ? SAYS_BETWEEN
                                          : SAYS_QUIETLY;
}

static void
find_release(VwGaugeCase* all) {
  size_t n_say[SAYS_ENDS + 1] = {0};
  for (size_t r = 0; r < all->n_runs; ++r) {
    ++n_say[what_says(all, &all->runs[r])];
  }
  VwGauged* const release = &all->board->release;
  const size_t    n_quiet = n_say[SAYS_QUIETLY] + n_say[SAYS_BETWEEN];
  // Of a board that stops, hardly a run ends with its file.
  if (n_say[SAYS_STOPS] &&
      (n_say[SAYS_FINISHES] || n_quiet >= n_say[SAYS_STOPS])) {
    *release = vw_gauge_not_found(VW_UNLIKE);
  } else if (n_say[SAYS_STOPS]) {
    *release = (VwGauged){VW_RELEASE_STOPS, NAN, VW_GAUGED, false};
  } else if (n_say[SAYS_FINISHES] || n_say[SAYS_QUIETLY] > 1U) {
    // That several presses end with their files is no chance, unless one is
    // heard to be let go there.
    *release = (VwGauged){VW_RELEASE_FINISHES, NAN, VW_GAUGED, false};
  } else {
    *release = vw_gauge_not_found(n_say[SAYS_BETWEEN]   ? VW_RELEASED_BETWEEN
                                  : n_say[SAYS_QUIETLY] ? VW_NO_CLICK
                                                        : VW_ENDS_EARLY);
  }
}

VwStatus
vw_press_find(VwGaugeCase* all) {
  const VwStatus st = find_presses(all);
  if (!st && all->n_runs) {
    find_release(all);
    vw_shortest_find(all);
  }
  return st;
}
