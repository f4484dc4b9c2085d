#include "take/events.h"
#include "take/internal.h"

#include <math.h>
#include <stdlib.h>

// Every figure is chosen here, by recordings and by synthetic takes.

// A swell of a shot has no more of a step and of a dip before it. What follows
// shots at the same time and in the same measure, within so much, is of them,
// if that part of all that follows does; but bursts are even to that part. What
// is weak is a swell if that part of the shots have some, or if it has no step.
#define SWELL_STEP_DB 4.0
#define SWELL_DIP_DB 20.0
#define ALIKE_S 0.005
#define ALIKE_DB 2.0
#define ALIKE_SHARE 0.75
#define BURST_EVEN 0.1
#define WEAK_SHARE 0.25

/// Events, and how they follow each other.
typedef struct {
  const VwEvent* events;
  size_t         n;
  double         rate_hz; ///< Of the sound.
} Followed;

/// For each event the one that leads it: itself, if it is a shot of its own;
/// in rapid fire however near it is to the one before.
static void
find_leaders(const Followed* of, bool fires, size_t* leader) {
  const VwEvent* const events = of->events;
  const double         rate_hz = fires ? 0.0 : of->rate_hz;
  leader[0] = 0;
  for (size_t i = 1; i < of->n; ++i) {
    const size_t last = leader[i - 1U];
    const size_t apart = events[i].start_frame - events[last].start_frame;
    const bool   leads = vw_event_leads(&events[i], (double)apart / rate_hz);
    leader[i] = leads ? i : last;
  }
}

/// Whether another shot is followed in the same way by what follows one.
static bool
is_alike(const Followed* of, const size_t* leader, size_t at) {
  const VwEvent* const events = of->events;
  const VwEvent* const first = &events[leader[at]];
  const double         near = ALIKE_S * of->rate_hz;
  for (size_t i = 0; i < of->n; ++i) {
    const VwEvent* const other = &events[leader[i]];
    const double later = (double)(events[i].start_frame - other->start_frame) -
                         (double)(events[at].start_frame - first->start_frame);
    const double louder_db = (events[i].level_db - other->level_db) -
                             (events[at].level_db - first->level_db);
    if (other != first && leader[i] != i && fabs(later) <= near &&
        fabs(louder_db) <= ALIKE_DB) {
      return true;
    }
  }
  return false;
}

/// Whether an event is the second of a burst: the next comes as long after it
/// as it after the first, and it is more than a weak swell.
static bool
is_burst(const Followed* of, const size_t* leader, size_t at) {
  const VwEvent* const events = of->events;
  if (at + 1U >= of->n || at != leader[at] + 1U ||
      events[at].step_db < SWELL_STEP_DB) {
    return false;
  }
  const double gap =
    (double)(events[at].start_frame - events[at - 1U].start_frame);
  const double next =
    (double)(events[at + 1U].start_frame - events[at].start_frame);
  return fabs(next - gap) <= BURST_EVEN * gap;
}

/// Whether most of what follows shots follows more than one of them alike.
static bool
are_alike(const Followed* of, const size_t* leader) {
  double n = 0.0;
  double n_alike = 0.0;
  double n_bursts = 0.0;
  for (size_t i = 0; i < of->n; ++i) {
    if (leader[i] != i) {
      n += 1.0;
      n_alike += is_alike(of, leader, i) ? 1.0 : 0.0;
      n_bursts += is_burst(of, leader, i) ? 1.0 : 0.0;
    }
  }
  return n_alike > 0.0 && n_bursts < 2.0 && n_alike >= ALIKE_SHARE * n;
}

static bool
is_weak(const VwEvent* event) {
  return event->step_db < SWELL_STEP_DB && event->dip_db < SWELL_DIP_DB;
}

/// Whether as many weak ones follow shots as their sound having swells makes.
static bool
are_weak_swells(const Followed* of, const size_t* leader) {
  double n_shots = 0.0;
  double n_weak = 0.0;
  for (size_t i = 0; i < of->n; ++i) {
    n_shots += leader[i] == i ? 1.0 : 0.0;
    n_weak += leader[i] != i && is_weak(&of->events[i]) ? 1.0 : 0.0;
  }
  return n_weak >= WEAK_SHARE * n_shots;
}

VwStatus
vw_swells_drop(double rate_hz, bool fires, VwEvent* events, size_t* n) {
  const Followed of = {events, *n, rate_hz};
  size_t* const  leader = malloc(of.n * sizeof(size_t));
  size_t         n_left = 0;
  if (!leader) {
    return VW_NO_MEMORY;
  }
  find_leaders(&of, fires, leader);
  const bool alike = are_alike(&of, leader);
  const bool weak_swells = are_weak_swells(&of, leader);
  for (size_t i = 0; i < of.n; ++i) {
    const VwEvent event = events[i];
    const bool    swells =
      alike || (is_weak(&event) && (weak_swells || event.step_db < 0.0));
    if (leader[i] == i || !swells) {
      events[n_left++] = event;
    } else if (event.level_db > events[n_left - 1U].level_db) {
      events[n_left - 1U].crest_frame = event.crest_frame;
      events[n_left - 1U].level_db = event.level_db;
    }
  }
  *n = n_left;
  free(leader);
  return VW_OK;
}
