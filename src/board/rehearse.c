#include "base/ranges.h"
#include "base/units.h"
#include "board/board.h"
#include "board/timeline.h"
#include "burst/burst.h"
#include "signal/signal.h"

#include "volleyweave/volleyweave.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

// Limits of what is asked: chosen here.
#define TIME_LEAST_S 0.001
#define TIME_MOST_S 600.0

// A single shot's flash: as long as that of a slow fire.
#define SINGLE_PER_S 1.0

/* Options */

static bool
times_are_sound(const double* held_s, size_t n_times) {
  double sum = 0.0;
  bool   good = n_times > 0U;
  for (size_t i = 0; good && i < n_times; ++i) {
    good = held_s[i] >= TIME_LEAST_S && held_s[i] <= TIME_MOST_S;
    sum += held_s[i];
  }
  return good && sum <= TIME_MOST_S * (1.0 + 1e-9);
}

static bool
goes_with(const VwPlayed* played, const VwSound* main) {
  return played->sound && played->sound->n_frames &&
         played->sound->rate_hz == main->rate_hz &&
         played->sound->n_channels == main->n_channels;
}

static bool
files_are_sound(const VwRehearsal* rehearsal) {
  const VwSound* const main = rehearsal->main.sound;
  if (!main || !main->n_frames) {
    return false;
  }
  switch (rehearsal->repeat) {
    case VW_REPEAT_THREE_FILES:
      return goes_with(&rehearsal->run_in, main) &&
             goes_with(&rehearsal->ring_out, main);
    case VW_REPEAT_LOOP_POINTS:
      return rehearsal->loop_start < rehearsal->loop_end &&
             rehearsal->loop_end <= main->n_frames;
    case VW_REPEAT_WHOLE_FILE:
    case VW_REPEAT_NOTHING:
      return true;
  }
  return false;
}

static bool
speaker_is_sound(const VwRehearsal* rehearsal) {
  const VwSpeaker* const speaker = &rehearsal->speaker;
  return vw_speaker_is_sound(speaker) &&
         speaker->corner_hz <=
           VW_HIGH_PASS_MOST * rehearsal->main.sound->rate_hz;
}

/* Frames */

static size_t
frames_of(const VwPlayed* played) {
  return played->sound ? played->sound->n_frames : 0U;
}

static VwPlaying
playing_of(const VwRehearsal* rehearsal, const VwBoard* board) {
  const double rate_hz = rehearsal->main.sound->rate_hz;
  const size_t delay = vw_frames_of_s(board->delay_ms / 1000.0, rate_hz);
  const size_t notice = vw_frames_of_s(board->press_min_ms / 1000.0, rate_hz);
  return (VwPlaying){
    .repeat = rehearsal->repeat,
    .release = board->release,
    .n_main = frames_of(&rehearsal->main),
    .n_run_in = frames_of(&rehearsal->run_in),
    .n_ring_out = frames_of(&rehearsal->ring_out),
    .loop_start = rehearsal->loop_start,
    .loop_end = rehearsal->loop_end,
    .gap = vw_frames_of_s(board->gap_ms / 1000.0, rate_hz),
    .delay = delay > notice ? delay : notice,
    .notice = notice,
  };
}

/// What was asked, and what is made of it.
typedef struct {
  const VwRehearsal* rehearsal;
  VwPress*           presses; ///< Owned.
  size_t             n_presses;
  size_t             end;      ///< Where the last of the times ends.
  VwTimeline         timeline; ///< Owned.
} Work;

static VwStatus
set_presses(Work* work, const double* held_s, size_t n_times) {
  const double rate_hz = work->rehearsal->main.sound->rate_hz;
  double       sum_s = 0.0;
  size_t       from = 0;
  work->presses = calloc(n_times, sizeof(VwPress));
  if (!work->presses) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < n_times; ++i) {
    sum_s += held_s[i];
    const size_t to = vw_frames_of_s(sum_s, rate_hz);
    if (i % 2U == 0U) {
      work->presses[work->n_presses++] = (VwPress){from, to};
    }
    from = to;
  }
  work->end = from;
  return VW_OK;
}

static const VwPlayed*
played_of(const VwRehearsal* rehearsal, VwFile file) {
  return file == VW_FILE_RUN_IN     ? &rehearsal->run_in
         : file == VW_FILE_RING_OUT ? &rehearsal->ring_out
                                    : &rehearsal->main;
}

/* Sound */

static void
add_play(const VwPlay* play, const VwSound* file, VwSound* sound) {
  const size_t       n_channels = file->n_channels;
  const float* const from = file->values + play->from * n_channels;
  float* const       to = sound->values + play->at * n_channels;
  for (size_t i = 0; i < (play->to - play->from) * n_channels; ++i) {
    to[i] += from[i];
  }
}

/// Play it on the speaker. What its resonances raise above full scale turns all
/// of it down.
static void
play_speaker(const VwSpeaker* speaker, VwSound* sound) {
  const double before = vw_sound_peak(sound);
  vw_speaker_play(speaker, sound);
  const double peak = vw_sound_peak(sound);
  if (speaker->n_cuts && peak > fmax(before, 1.0)) {
    vw_sound_scale(sound, 1.0 / peak);
  }
}

static VwStatus
make_sound(const Work* work, VwSound* sound) {
  const VwSound* const main = work->rehearsal->main.sound;
  size_t               n_frames = work->end;
  for (size_t i = 0; i < work->timeline.n_plays; ++i) {
    const VwPlay* const play = &work->timeline.plays[i];
    const size_t        end = play->at + (play->to - play->from);
    n_frames = end > n_frames ? end : n_frames;
  }
  const VwStatus st =
    vw_sound_init(sound, n_frames, main->n_channels, main->rate_hz);
  for (size_t i = 0; !st && i < work->timeline.n_plays; ++i) {
    const VwPlay* const play = &work->timeline.plays[i];
    add_play(play, played_of(work->rehearsal, play->file)->sound, sound);
  }
  if (!st) {
    play_speaker(&work->rehearsal->speaker, sound);
  }
  return st;
}

/* Lamp */

static size_t
count_shots(const Work* work) {
  size_t n = 0;
  for (size_t i = 0; i < work->timeline.n_plays; ++i) {
    n += played_of(work->rehearsal, work->timeline.plays[i].file)->n_shots;
  }
  return n;
}

static void
add_flashes(const Work* work, const VwPlay* play, VwRehearsed* rehearsed) {
  const VwPlayed* const played = played_of(work->rehearsal, play->file);
  const double          rate_hz = played->sound->rate_hz;
  for (size_t i = 0; i < played->n_shots; ++i) {
    const size_t shot = played->shots[i];
    if (shot >= play->from && shot < play->to) {
      const double on_s = (double)(play->at + (shot - play->from)) / rate_hz;
      rehearsed->flashes[rehearsed->n_flashes++].on_s = on_s;
    }
  }
}

static VwStatus
make_flashes(const Work* work, VwRehearsed* rehearsed) {
  const double fire_rate = work->rehearsal->fire_rate_per_s;
  const double asked_ms = work->rehearsal->lamp_on_ms;
  const VwLamp lamp = vw_lamp(fire_rate > 0.0 ? fire_rate : SINGLE_PER_S);
  const double on_ms = asked_ms > 0.0 ? asked_ms : lamp.on_ms;
  rehearsed->flashes = calloc(count_shots(work) + 1U, sizeof(VwFlash));
  if (!rehearsed->flashes) {
    return VW_NO_MEMORY;
  }
  for (size_t i = 0; i < work->timeline.n_plays; ++i) {
    add_flashes(work, &work->timeline.plays[i], rehearsed);
  }
  for (size_t i = 0; i < rehearsed->n_flashes; ++i) {
    VwFlash* const flash = &rehearsed->flashes[i];
    flash->off_s = flash->on_s + on_ms / 1000.0;
    if (i + 1U < rehearsed->n_flashes && flash[1].on_s < flash->off_s) {
      flash->off_s = flash[1].on_s;
    }
  }
  return VW_OK;
}

VwStatus
vw_rehearse(const VwRehearsal* rehearsal,
            const VwBoard*     board,
            const double*      held_s,
            size_t             n_times,
            VwRehearsed*       rehearsed) {
  assert(rehearsal && board && held_s && rehearsed);
  if (!files_are_sound(rehearsal) || !vw_board_playing_is_sound(board) ||
      !speaker_is_sound(rehearsal) || !times_are_sound(held_s, n_times)) {
    return VW_BAD_OPTION;
  }
  VwRehearsed     out = {0};
  Work            work = {.rehearsal = rehearsal};
  const VwPlaying playing = playing_of(rehearsal, board);
  VwStatus        st = set_presses(&work, held_s, n_times);
  st = st ? st
          : vw_timeline_make(
              &playing, work.presses, work.n_presses, &work.timeline);
  st = st ? st : make_sound(&work, &out.sound);
  st = st ? st : make_flashes(&work, &out);
  free(work.presses);
  vw_timeline_clear(&work.timeline);
  if (st) {
    vw_rehearsed_clear(&out);
    return st;
  }
  *rehearsed = out;
  return VW_OK;
}

void
vw_rehearsed_clear(VwRehearsed* rehearsed) {
  if (rehearsed) {
    vw_sound_clear(&rehearsed->sound);
    free(rehearsed->flashes);
    *rehearsed = (VwRehearsed){0};
  }
}
