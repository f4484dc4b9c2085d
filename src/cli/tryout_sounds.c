#include "tryout_sounds.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Before the attack of every shot made here.
#define PRE_ROLL_S 0.002

/// A family on its way into a page.
typedef struct {
  const VwFamily* family;
  const Settings* settings;
  TryoutSounds*   sounds;
  size_t          n_attacks; ///< In use.
} Work;

/* Codes */

static int32_t
code_at(const unsigned char* bytes, unsigned n_bytes) {
  uint32_t bits = 0;
  for (unsigned i = 0; i < n_bytes; ++i) {
    bits |= (uint32_t)bytes[i] << (8U * (4U - n_bytes + i));
  }
  int32_t code = 0;
  memcpy(&code, &bits, sizeof(code));
  return code;
}

static float
value_at(const unsigned char* bytes, VwEncoding encoding) {
  float value = 0.0F;
  switch (encoding) {
    case VW_ENCODING_U8:
      return (float)(bytes[0] - 128) / 128.0F;
    case VW_ENCODING_S16:
      return (float)((double)code_at(bytes, 2U) / 2147483648.0);
    case VW_ENCODING_S24:
      return (float)((double)code_at(bytes, 3U) / 2147483648.0);
    case VW_ENCODING_FLOAT:
      memcpy(&value, bytes, sizeof(value));
      break;
  }
  return value;
}

/// A piece with the codes that its file has.
static VwStatus
write_piece(const Work* work, const VwPiece* piece, VwSound* written) {
  static const size_t  sizes[] = {1U, 2U, 3U, 4U};
  const VwWrapping     wrapping = {.container = VW_CONTAINER_RAW,
                                   .format = work->family->format,
                                   .seed = work->settings->family.seed};
  const VwSound* const sound = &piece->sound;
  const VwEncoding     encoding = work->family->format.encoding;
  VwBytes              bytes = {0};
  VwStatus             st = vw_encode(piece, &wrapping, &bytes);
  st = st ? st
          : vw_sound_init(
              written, sound->n_frames, sound->n_channels, sound->rate_hz);
  for (size_t i = 0; !st && i < sound->n_frames * sound->n_channels; ++i) {
    written->values[i] = value_at(bytes.data + i * sizes[encoding], encoding);
  }
  vw_bytes_clear(&bytes);
  return st;
}

/* Attacks */

/// The attacks of the first `n` shots of the burst.
static VwPlayed
played(Work* work, VwPart part, size_t n) {
  const VwPlan* const plan = &work->family->plan;
  size_t* const       attacks = work->sounds->attacks + work->n_attacks;
  const size_t        pre =
    (size_t)floor(PRE_ROLL_S * work->family->format.rate_hz + 0.5);
  for (size_t i = 0; i < n; ++i) {
    attacks[i] = pre + (i ? vw_plan_start(plan, i) : 0U);
  }
  work->n_attacks += n;
  return (VwPlayed){&work->sounds->written[part], attacks, n};
}

/// Room for the attacks of all files.
static VwStatus
make_room(Work* work) {
  const size_t n = 1U + work->family->run_in_shots + work->family->plan.shots +
                   work->settings->family.burst_shots;
  work->sounds->attacks = calloc(n, sizeof(size_t));
  return work->sounds->attacks ? VW_OK : VW_NO_MEMORY;
}

/* Triggers */

static void
set_rapid(Work* work) {
  const VwFamily* const family = work->family;
  VwRehearsal* const    rapid = &work->sounds->rapid;
  const size_t          shots = family->plan.shots;
  rapid->fire_rate_per_s = family->plan.fire_rate_per_s;
  rapid->lamp_on_ms = family->lamp.on_ms;
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
  rapid->main = played(work, VW_PART_LOOP, work->settings->family.burst_shots);
}

/// Where a piece goes: a burst is what is held instead of a loop.
static VwPart
place_of(VwPart part) {
  return part == VW_PART_BURST ? VW_PART_LOOP : part;
}

VwStatus
tryout_sounds_make(const VwFamily* family,
                   const Settings* settings,
                   TryoutSounds*   sounds) {
  Work     work = {family, settings, sounds, 0U};
  VwStatus st = make_room(&work);
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    st = write_piece(&work, piece, &sounds->written[place_of(piece->part)]);
    if (piece->has_loop) {
      sounds->rapid.loop_start = piece->loop_start;
      sounds->rapid.loop_end = piece->loop_end;
    }
  }
  if (!st) {
    sounds->single.repeat = VW_REPEAT_NOTHING;
    sounds->single.main = played(&work, VW_PART_SHOT, 1U);
    set_rapid(&work);
  }
  return st;
}

void
tryout_sounds_clear(TryoutSounds* sounds) {
  for (size_t i = 0; i < 4U; ++i) {
    vw_sound_clear(&sounds->written[i]);
  }
  free(sounds->attacks);
  *sounds = (TryoutSounds){0};
}
