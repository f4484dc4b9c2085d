#include "cli/page/page.h"

#include "board/board.h"
#include "burst/burst.h"
#include "container/container.h"
#include "lamp/lamp.h"
#include "signal/signal.h"
#include "take/take.h"

#include <stdlib.h>

VwSound*
tryout_sounds_place(TryoutSounds* sounds, VwPart part) {
  const VwPart place = part == VW_PART_BURST   ? VW_PART_LOOP
                       : part == VW_PART_WHOLE ? VW_PART_SHOT
                                               : part;
  return &sounds->written[place];
}

/* Files */

/// A piece with the codes that its file has.
static VwStatus
write_piece(const VwPiece*  piece,
            const VwFormat* format,
            uint64_t        seed,
            VwSound*        written) {
  VwWrapping wrapping = {
    .container = VW_CONTAINER_RAW, .format = *format, .seed = seed};
  VwBytes  bytes = {0};
  VwStatus st = vw_encode(piece, &wrapping, &bytes);
  wrapping.format.n_channels = piece->sound.n_channels;
  wrapping.format.rate_hz = piece->sound.rate_hz;
  st = st ? st : vw_decode(&bytes, &wrapping, written);
  vw_bytes_clear(&bytes);
  return st;
}

VwStatus
tryout_sounds_fill(const VwFamily* family,
                   uint64_t        seed,
                   TryoutSounds*   sounds) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    st = write_piece(
      piece, &family->format, seed, tryout_sounds_place(sounds, piece->part));
    if (piece->has_loop) {
      sounds->loop_start = piece->loop_start;
      sounds->loop_end = piece->loop_end;
    }
  }
  return st;
}

/* Triggers */

/// What a trigger is made from.
typedef struct {
  const VwFamily* family;
  unsigned        burst_shots;
  TryoutSounds*   sounds;
  size_t          n_attacks; ///< In use.
} Work;

/// A file, with the attacks of the first `n` shots of the burst.
static VwPlayed
played(Work* work, VwPart part, size_t n) {
  const VwFamily* const family = work->family;
  size_t* const         attacks = work->sounds->attacks + work->n_attacks;
  const size_t          pre = vw_shot_pre_roll(family->format.rate_hz);
  for (size_t i = 0; i < n; ++i) {
    attacks[i] = pre + (i ? vw_plan_start(&family->plan, i) : 0U);
  }
  work->n_attacks += n;
  return (VwPlayed){&work->sounds->written[part], attacks, n};
}

/// Room for the attacks of all files.
static VwStatus
make_room(Work* work) {
  const VwFamily* const family = work->family;
  work->sounds->attacks = calloc(
    1U + 2U * (family->run_in_shots + family->plan.shots) + work->burst_shots,
    sizeof(size_t));
  return work->sounds->attacks ? VW_OK : VW_NO_MEMORY;
}

static void
set_rapid(Work* work) {
  const VwFamily* const family = work->family;
  VwRehearsal* const    rapid = &work->sounds->rapid;
  const size_t          shots = family->plan.shots;
  rapid->fire_rate_per_s = family->plan.fire_rate_per_s;
  rapid->lamp_on_ms = family->lamp.on_ms;
  rapid->loop_start = work->sounds->loop_start;
  rapid->loop_end = work->sounds->loop_end;
  switch (family->form) {
    case VW_FORM_PIECES:
      rapid->repeat = VW_REPEAT_THREE_FILES;
      rapid->main = played(work, VW_PART_LOOP, shots);
      rapid->run_in = played(work, VW_PART_RUN_IN, family->run_in_shots);
      rapid->ring_out = played(work, VW_PART_RING_OUT, 0U);
      return;
    case VW_FORM_WHOLE_FILE:
      rapid->repeat = VW_REPEAT_WHOLE_FILE;
      rapid->main = played(work, VW_PART_LOOP, shots);
      return;
    case VW_FORM_LOOP_POINTS:
      rapid->repeat = VW_REPEAT_LOOP_POINTS;
      rapid->main = played(work, VW_PART_LOOP, shots + family->run_in_shots);
      return;
    case VW_FORM_BURST:
      break;
  }
  rapid->repeat = VW_REPEAT_NOTHING;
  // What sounds on is repeated so often, and holds no shots.
  rapid->main = played(work, VW_PART_LOOP, shots ? work->burst_shots : 0U);
}

/// Keep the first channel of every file.
static VwStatus
keep_sound(TryoutSounds* sounds) {
  VwStatus st = VW_OK;
  for (size_t i = 0; !st && i < 4U; ++i) {
    VwSound mono = {0};
    if (sounds->written[i].n_channels == 2U) {
      st = vw_sound_channel(&sounds->written[i], 0U, &mono);
      if (!st) {
        vw_sound_clear(&sounds->written[i]);
        sounds->written[i] = mono;
      }
    }
  }
  return st;
}

VwStatus
tryout_sounds_lay(const VwFamily*        family,
                  const VwFamilyOptions* options,
                  TryoutSounds*          sounds) {
  // What sounds on has no shots, however often it is repeated.
  const unsigned n_burst = family->plan.shots ? options->burst_shots : 0U;
  Work           work = {family, n_burst, sounds, 0U};
  VwStatus       st = make_room(&work);
  if (!st && options->lamp_track.wanted) {
    st = keep_sound(sounds);
  }
  if (st) {
    return st;
  }
  if (sounds->written[VW_PART_SHOT].n_frames) {
    sounds->single.repeat = VW_REPEAT_NOTHING;
    sounds->single.main = played(&work, VW_PART_SHOT, options->whole ? 0U : 1U);
    sounds->single.lamp_on_ms = vw_on_time_of_shot(options).on_ms;
  }
  if (sounds->written[VW_PART_LOOP].n_frames) {
    set_rapid(&work);
  }
  return VW_OK;
}

static const VwRehearsal*
there(const VwRehearsal* rehearsal) {
  return rehearsal->main.sound ? rehearsal : NULL;
}

const VwRehearsal*
tryout_sounds_single(const TryoutSounds* sounds) {
  return there(&sounds->single);
}

const VwRehearsal*
tryout_sounds_rapid(const TryoutSounds* sounds) {
  return there(&sounds->rapid);
}

void
tryout_sounds_clear(TryoutSounds* sounds) {
  for (size_t i = 0; i < 4U; ++i) {
    vw_sound_clear(&sounds->written[i]);
  }
  free(sounds->attacks);
  *sounds = (TryoutSounds){0};
}
