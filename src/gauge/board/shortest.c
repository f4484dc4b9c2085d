// The shortest press that sounds: of each press that does, its one release; of
// clicks away from all that sounds, two and two.

#include "board/board.h"
#include "gauge/board/internal.h"

#include <math.h>

// A board that stops is let go by so much at most behind the last mark that is
// heard: they lie 0.2 s apart at most (gauge/board/marks.c).
#define RELEASE_WITHIN_S 0.25

// Clicks farther apart are not of one short press: 3 s of quiet are asked for
// behind each (chosen here).
#define PRESS_MOST_S 1.5

/// What presses show.
typedef struct {
  double sounds_s; ///< The shortest that sounds; infinite: none.
  double silent_s; ///< The longest that does not; 0: none.
  size_t n_sound;
  size_t n_early; ///< Silent ones that may have been let go too early.
  double told_s;  ///< Those are no longer.
  bool   unclear; ///< A click stands alone.
} Presses;

static double
time_of(const VwGaugeCase* all, long click) {
  return all->clicks.clicks[click].time_s;
}

/// Whether a click began a run.
static bool
begins(const VwGaugeCase* all, size_t click) {
  bool any = false;
  for (size_t r = 0; r < all->n_runs; ++r) {
    any = any || all->runs[r].press == (long)click;
  }
  return any;
}

/// Whether a click lies where the release of a run may be.
static bool
is_in_run(const VwGaugeCase* all, const VwRun* run, size_t click) {
  const double after_s = fmax(all->gap_s, 0.0) * all->plays.ratio;
  const double time_s = all->clicks.clicks[click].time_s;
  return time_s > time_of(all, run->press) &&
         time_s <
           vw_play_heard_end_s(all, run->last) + after_s + RELEASE_WITHIN_S;
}

static bool
is_in_any_run(const VwGaugeCase* all, size_t click) {
  bool any = false;
  for (size_t r = 0; r < all->n_runs; ++r) {
    any = any || is_in_run(all, &all->runs[r], click);
  }
  return any;
}

/// Add a press that sounds, if one click alone may be its release.
static void
add_sounding(const VwGaugeCase* all, const VwRun* run, Presses* presses) {
  size_t n = 0;
  double held_s = 0.0;
  for (size_t i = 0; i < all->clicks.n; ++i) {
    if (is_in_run(all, run, i) && !begins(all, i)) {
      held_s = time_of(all, (long)i) - time_of(all, run->press);
      ++n;
    }
  }
  if (n == 1U) {
    presses->sounds_s = fmin(presses->sounds_s, held_s);
    ++presses->n_sound;
  }
}

static void
add_silent(double held_s, Presses* presses) {
  if (held_s > presses->told_s) {
    presses->silent_s = fmax(presses->silent_s, held_s);
  } else {
    ++presses->n_early;
  }
}

/// Add those that are silent.
static void
add_all_silent(const VwGaugeCase* all, Presses* presses) {
  const VwClick* const clicks = all->clicks.clicks;
  const double         least_db =
    clicks[all->runs[0].press].level_db - VW_CLICK_LIKE_DB;
  long alone = -1;
  for (size_t i = 0; i < all->clicks.n; ++i) {
    const bool heard = begins(all, i) || is_in_any_run(all, i);
    if (!heard && clicks[i].level_db < least_db) {
      continue;
    }
    const double held_s =
      alone < 0 ? INFINITY : clicks[i].time_s - time_of(all, alone);
    if (!heard && held_s < PRESS_MOST_S) {
      add_silent(held_s, presses);
      alone = -1;
    } else {
      presses->unclear = presses->unclear || alone >= 0;
      alone = heard ? -1 : (long)i;
    }
  }
  presses->unclear = presses->unclear || alone >= 0;
}

/// Why there is no shortest press.
static VwWhyNot
why_not(const Presses* presses) {
  return presses->silent_s > 0.0 && presses->n_sound   ? VW_UNLIKE
         : presses->silent_s > 0.0 || presses->unclear ? VW_SEVERAL_CLICKS
         : presses->n_early                            ? VW_WITHIN_DELAY
         : presses->n_sound > 1U                       ? VW_NO_SILENT_PRESS
                                                       : VW_NO_SECOND_LENGTH;
}

static bool
all_begun(const VwGaugeCase* all) {
  bool good = true;
  for (size_t r = 0; r < all->n_runs; ++r) {
    good = good && all->runs[r].press >= 0;
  }
  return good;
}

void
vw_shortest_find(VwGaugeCase* all) {
  VwGaugedBoard* const board = all->board;
  const bool           finishes = board->release.value == VW_RELEASE_FINISHES;
  Presses              presses = {.sounds_s = INFINITY};
  board->silent_press_ms = NAN;
  if (!all_begun(all)) {
    board->press_ms = vw_gauge_not_found(
      all->runs[0].press < 0 ? VW_NO_CLICK : VW_SEVERAL_CLICKS);
    return;
  }
  // A board that stops sounds for no longer than it is held behind its delay.
  presses.told_s =
    finishes ? 0.0
             : 0.001 * board->delay_ms.value + 1.5 * all->pattern->piece_s;
  for (size_t r = 0; r < all->n_runs; ++r) {
    add_sounding(all, &all->runs[r], &presses);
  }
  add_all_silent(all, &presses);
  const double silent_s = presses.silent_s;
  board->silent_press_ms = silent_s > 0.0 ? 1000.0 * silent_s : NAN;
  board->press_ms =
    silent_s > 0.0 && silent_s < presses.sounds_s && presses.n_sound
      ? (VwGauged){1000.0 * presses.sounds_s,
                   1000.0 * (presses.sounds_s - silent_s),
                   VW_GAUGED,
                   false}
      : vw_gauge_not_found(why_not(&presses));
}
