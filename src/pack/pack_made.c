#include "pack/pack_made.h"

#include "board/board.h"
#include "family.h"
#include "pack/pack.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// Up to this part of half a sample rate conversion keeps all: it is 3 dB down
// at 96 % (libsamplerate's own description of its best sinc converter).
#define BAND_KEPT 0.95

/* Figures */

/// Keep the figures of a family without its sounds.
static void
keep_figures(const VwFamily*    family,
             const VwPackTakes* takes,
             VwPackSound*       sound) {
  sound->facts = takes->facts[0];
  sound->downmix = family->uses[0].downmix;
  sound->late_start_ms = 0.0;
  for (size_t i = 0; i < family->n_takes; ++i) {
    sound->late_start_ms =
      fmax(sound->late_start_ms, family->uses[i].late_start_ms);
  }
  sound->family = *family;
  sound->family.uses = NULL;
  sound->family.shots = NULL;
  sound->family.turns = NULL;
  sound->family.pieces = NULL;
  sound->family.n_pieces = 0;
}

/// The share of what the speaker can play that a sample rate keeps.
static VwStatus
find_kept(const VwSound* shot,
          double         corner_hz,
          unsigned       rate_hz,
          double*        kept) {
  const double band_hz = BAND_KEPT * 0.5 * rate_hz;
  double       below_corner = 0.0;
  double       below_band = 1.0;
  VwStatus     st = VW_OK;
  if (corner_hz > 0.0) {
    st = vw_spectrum_share_below(shot, corner_hz, &below_corner);
  }
  if (!st && rate_hz < shot->rate_hz) {
    st = vw_spectrum_share_below(shot, band_hz, &below_band);
  }
  const double share = (below_band - below_corner) / (1.0 - below_corner);
  *kept = share >= 0.0 ? share : 0.0; // also where there is nothing
  return st;
}

/// Find what each of the board's sample rates keeps of each take; the worst
/// counts. Where there is no choice, or room enough, it is not looked for.
static VwStatus
find_all_kept(const VwBoard*     board,
              const VwPackTakes* takes,
              VwPackSound*       sound) {
  const double corner_hz = sound->options.level.speaker_hz;
  VwStatus     st = VW_OK;
  for (unsigned k = 0; k < 8U; ++k) {
    sound->kept[k] = k < board->n_sample_rates ? 1.0 : 0.0;
  }
  if (board->n_sample_rates < 2U || !board->capacity_bytes) {
    return VW_OK;
  }
  for (size_t i = 0; !st && i < takes->n_takes; ++i) {
    const VwShotFacts* const facts = &takes->facts[i];
    VwSound                  shot = {0};
    st = vw_sound_part(&takes->takes[i].sound,
                       facts->attack_frame,
                       facts->end_frame - facts->attack_frame,
                       &shot);
    for (unsigned k = 0; !st && k < board->n_sample_rates; ++k) {
      double kept = 1.0;
      st = find_kept(&shot, corner_hz, board->sample_rates_hz[k], &kept);
      sound->kept[k] = fmin(sound->kept[k], kept);
    }
    vw_sound_clear(&shot);
  }
  return st;
}

/* Files */

/// Whether a sound hands out a part; a loop's shot is a sound of its own.
static bool
hands_out(VwMake make, VwPart part) {
  switch (make) {
    case VW_MAKE_SHOT:
      return part == VW_PART_SHOT;
    case VW_MAKE_WHOLE:
      return part == VW_PART_WHOLE;
    case VW_MAKE_LOOP:
    case VW_MAKE_BURST:
      break;
  }
  return part != VW_PART_SHOT && part != VW_PART_WHOLE;
}

static const VwPackSound*
sound_of(const VwPack* pack, const VwPackWork* work) {
  return &pack->sounds[(size_t)(work - pack->store->works)];
}

static VwStatus
encode(const VwPack*     pack,
       const VwPackWork* work,
       const VwPiece*    piece,
       VwPackMade*       made) {
  const VwPackSound* const sound = sound_of(pack, work);
  const VwBoard* const     board = pack->options.board;
  VwPackFile* const        file = &made->files[made->n_files];
  VwBytes* const           bytes = &made->bytes[made->n_files];
  const size_t take = hands_out(VW_MAKE_LOOP, piece->part) ? 0U : piece->take;
  const VwWrapping wrapping = {.container = board->container,
                               .format = sound->family.format,
                               .loop_points = board->loop_points,
                               .name = sound->wish->name,
                               .seed = sound->options.seed};
  *file = (VwPackFile){.part = piece->part,
                       .take = take,
                       .n_frames = piece->sound.n_frames,
                       .name = vw_pack_name_of(work, piece->part, take)};
  ++made->n_files;
  const VwStatus st =
    file->name ? vw_encode(piece, &wrapping, bytes) : VW_NO_MEMORY;
  file->n_bytes = bytes->n_bytes;
  return st ? st
         : board->file_bytes_max && bytes->n_bytes > board->file_bytes_max
           ? VW_FILE_TOO_BIG
           : VW_OK;
}

static VwStatus
encode_all(const VwPack*     pack,
           const VwFamily*   family,
           const VwPackWork* work,
           VwPackMade*       made) {
  const VwPackSound* const sound = sound_of(pack, work);
  made->files = calloc(family->n_pieces + 1U, sizeof(VwPackFile));
  made->bytes = calloc(family->n_pieces + 1U, sizeof(VwBytes));
  VwStatus st = made->files && made->bytes ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    if (hands_out(sound->wish->make, piece->part)) {
      st = encode(pack, work, piece, made);
    }
  }
  return st;
}

VwStatus
vw_pack_made_make(const VwPack* pack,
                  VwPackSound*  sound,
                  VwPackWork*   work,
                  VwPackMade*   made) {
  VwPackTakes takes = {0};
  VwPackMade  out = {0};
  VwFamily    family = {0};
  const bool  loudest = sound->options.level.aim == VW_AIM_LOUDEST;
  VwStatus    st = vw_pack_takes_load(&pack->options.reading, sound, &takes);
  if (!st) {
    const VwFamilyWish wish = {
      takes.takes, takes.facts, takes.n_takes, &sound->options};
    st = vw_family_measure(&wish, &family, loudest ? &work->curve : NULL);
  }
  if (!st) {
    keep_figures(&family, &takes, sound);
    st = find_all_kept(pack->options.board, &takes, sound);
  }
  st = st ? st : encode_all(pack, &family, work, &out);
  vw_family_clear(&family);
  vw_pack_takes_clear(&takes);
  if (st) {
    vw_pack_made_clear(&out);
    return st;
  }
  *made = out;
  return VW_OK;
}

void
vw_pack_made_clear(VwPackMade* made) {
  if (made) {
    for (size_t i = 0; i < made->n_files; ++i) {
      free(made->files[i].name);
      vw_bytes_clear(&made->bytes[i]);
    }
    free(made->files);
    free(made->bytes);
    *made = (VwPackMade){0};
  }
}
