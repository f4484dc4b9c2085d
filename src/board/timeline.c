#include "board/timeline.h"

#include "board/board.h"

#include <stdlib.h>

/// The board at work.
typedef struct {
  const VwPlaying* playing;
  const VwPress*   presses;
  size_t           n_presses;
  VwTimeline*      timeline;
  VwStatus         status;
} Run;

/// Whether a board takes the trigger for held at a frame.
static bool
held_at(const Run* run, size_t frame) {
  for (size_t i = 0; i < run->n_presses; ++i) {
    const VwPress* const press = &run->presses[i];
    if (press->from + run->playing->notice <= frame && frame < press->to) {
      return true;
    }
  }
  return false;
}

static void
play(Run* run, const VwPlay* wanted) {
  VwTimeline* const timeline = run->timeline;
  if (run->status || wanted->from >= wanted->to) {
    return;
  }
  if (timeline->n_plays == timeline->n_room) {
    const size_t  n_room = 2U * timeline->n_room + 16U;
    VwPlay* const plays = realloc(timeline->plays, n_room * sizeof(VwPlay));
    if (!plays) {
      run->status = VW_NO_MEMORY;
      return;
    }
    timeline->plays = plays;
    timeline->n_room = n_room;
  }
  timeline->plays[timeline->n_plays++] = *wanted;
}

/// Play frames [from, to) of the main file at `at`, but nothing from `end` on.
/// Returns where they would have ended.
static size_t
play_main(Run* run, size_t from, size_t to, size_t at, size_t end) {
  const size_t n_left = end > at ? end - at : 0U;
  const size_t n = to - from < n_left ? to - from : n_left;
  play(run, &(VwPlay){VW_FILE_MAIN, from, from + n, at});
  return at + (to - from);
}

/* Boards that fall silent at once */

static void
play_until(Run* run, size_t at, size_t end) {
  const VwPlaying* const playing = run->playing;
  const bool             marked = playing->repeat == VW_REPEAT_LOOP_POINTS;
  const bool             once = playing->repeat == VW_REPEAT_NOTHING;
  const size_t           to = marked ? playing->loop_end : playing->n_main;
  const size_t           again = marked ? playing->loop_start : 0U;
  size_t                 from = 0;
  while (!run->status && at < end) {
    at = play_main(run, from, to, at, end) + playing->gap;
    from = again;
    if (once) {
      return;
    }
  }
}

/* Boards that finish; each returns from when on it takes a new press */

static size_t
play_whole(Run* run, size_t at) {
  const VwPlaying* const playing = run->playing;
  size_t                 free_at = 0;
  do {
    free_at = play_main(run, 0, playing->n_main, at, SIZE_MAX);
    at = free_at + playing->gap;
  } while (!run->status && playing->repeat == VW_REPEAT_WHOLE_FILE &&
           held_at(run, at));
  return free_at;
}

static size_t
play_marked(Run* run, size_t at) {
  const VwPlaying* const playing = run->playing;
  const size_t           end = playing->loop_end;
  size_t                 free_at = 0;
  do {
    at = play_main(run, 0, end, at, SIZE_MAX);
    while (!run->status && held_at(run, at)) {
      at += playing->gap;
      at = play_main(run, playing->loop_start, end, at, SIZE_MAX);
    }
    free_at = play_main(run, end, playing->n_main, at, SIZE_MAX);
    at = free_at + playing->gap;
  } while (!run->status && held_at(run, at));
  return free_at;
}

static size_t
play_three(Run* run, size_t at) {
  const VwPlaying* const playing = run->playing;
  play(run, &(VwPlay){VW_FILE_RUN_IN, 0, playing->n_run_in, at});
  at += playing->n_run_in + playing->gap;
  while (!run->status && held_at(run, at)) {
    at = play_main(run, 0, playing->n_main, at, SIZE_MAX) + playing->gap;
  }
  play(run, &(VwPlay){VW_FILE_RING_OUT, 0, playing->n_ring_out, at});
  return at;
}

static size_t
play_out(Run* run, size_t at) {
  switch (run->playing->repeat) {
    case VW_REPEAT_THREE_FILES:
      return play_three(run, at);
    case VW_REPEAT_LOOP_POINTS:
      return play_marked(run, at);
    case VW_REPEAT_WHOLE_FILE:
    case VW_REPEAT_NOTHING:
      break;
  }
  return play_whole(run, at);
}

/* Presses */

static void
follow(Run* run) {
  const VwPlaying* const playing = run->playing;
  const bool             stops = playing->release == VW_RELEASE_STOPS &&
                     playing->repeat != VW_REPEAT_THREE_FILES;
  size_t free_at = 0;
  for (size_t i = 0; !run->status && i < run->n_presses; ++i) {
    const VwPress* const press = &run->presses[i];
    const size_t         noticed = press->from + playing->notice;
    if (noticed > press->to || noticed < free_at) {
      continue;
    }
    if (stops) {
      play_until(run, press->from + playing->delay, press->to);
    } else {
      free_at = play_out(run, press->from + playing->delay);
    }
  }
}

VwStatus
vw_timeline_make(const VwPlaying* playing,
                 const VwPress*   presses,
                 size_t           n_presses,
                 VwTimeline*      timeline) {
  VwTimeline out = {0};
  Run        run = {playing, presses, n_presses, &out, VW_OK};
  follow(&run);
  if (run.status) {
    vw_timeline_clear(&out);
    return run.status;
  }
  *timeline = out;
  return VW_OK;
}

void
vw_timeline_clear(VwTimeline* timeline) {
  if (timeline) {
    free(timeline->plays);
    *timeline = (VwTimeline){0};
  }
}
