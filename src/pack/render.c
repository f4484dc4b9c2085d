// Making the sounds of a pack, one by one.

#include "container/container.h"
#include "family.h"
#include "pack/internal.h"
#include "signal/signal.h"
#include "store/store.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// Up to this part of half a sample rate conversion keeps all: it is 3 dB down
// at 96 % (libsamplerate's own description of its best sinc converter).
#define BAND_KEPT 0.95

/* Figures */

/// Keep the figures of a family without its sounds.
static void
keep_figures(const VwFamily*    family,
             const VwPackTakes* takes,
             VwPackSound*       sound) {
  sound->n_own_shots = takes->turns.n_written;
  for (size_t i = 0; i < sound->n_own_shots; ++i) {
    sound->own_shots[i] = takes->turns.written[i];
  }
  sound->downmix = family->uses[0].downmix;
  sound->start_faded = family->uses[0].start_faded;
  sound->end_faded = family->uses[0].end_faded;
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
  const double corner_hz = sound->options.level.speaker.corner_hz;
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

/// Files of a sound in memory. Starts all zero.
typedef struct {
  VwPackFile* files; ///< Owned.
  VwBytes*    bytes; ///< One per file. Owned.
  size_t      n_files;
} Made;

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

/// A copy of the name of a file that a sound makes, or NULL.
static char*
name_of(const VwPackWork* work, VwPart part, size_t take) {
  for (size_t i = 0; i < work->n_names; ++i) {
    if (work->names[i].part == part && work->names[i].take == take) {
      return strdup(work->names[i].name);
    }
  }
  return NULL;
}

/// Encode a piece as the next of the files.
static VwStatus
encode(const VwPack* pack, size_t index, const VwPiece* piece, Made* made) {
  const VwPackSound* const sound = &pack->sounds[index];
  const VwBoard* const     board = pack->options.board;
  VwPackFile* const        file = &made->files[made->n_files];
  VwBytes* const           bytes = &made->bytes[made->n_files];
  const size_t take = hands_out(VW_MAKE_LOOP, piece->part) ? 0U : piece->take;
  const VwWrapping wrapping = {.container = board->container,
                               .format = sound->family.format,
                               .loop_points = board->loop_points,
                               .name = sound->wish->name,
                               .seed = sound->options.seed};
  *file = (VwPackFile){
    .part = piece->part,
    .take = take,
    .n_frames = piece->sound.n_frames,
    .loop_start = piece->loop_start,
    .loop_end = piece->has_loop ? piece->loop_end : 0U,
    .name = name_of(&pack->store->works[index], piece->part, take)};
  ++made->n_files;
  const VwStatus st =
    file->name ? vw_encode(piece, &wrapping, bytes) : VW_NO_MEMORY;
  file->n_bytes = bytes->n_bytes;
  file->digest = vw_digest(bytes->data, bytes->n_bytes);
  return st ? st
         : board->file_bytes_max && bytes->n_bytes > board->file_bytes_max
           ? VW_FILE_TOO_BIG
           : VW_OK;
}

static VwStatus
encode_all(const VwPack*   pack,
           size_t          index,
           const VwFamily* family,
           Made*           made) {
  const VwMake make = pack->sounds[index].wish->make;
  made->files = calloc(family->n_pieces + 1U, sizeof(VwPackFile));
  made->bytes = calloc(family->n_pieces + 1U, sizeof(VwBytes));
  VwStatus st = made->files && made->bytes ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < family->n_pieces; ++i) {
    const VwPiece* const piece = &family->pieces[i];
    if (hands_out(make, piece->part)) {
      st = encode(pack, index, piece, made);
    }
  }
  return st;
}

/// Make a sound's family, set its figures, and encode its files; its curve is
/// found where its level aims at the loudest. What was made is to be cleared
/// also where that fails.
static VwStatus
make(const VwPack* pack, size_t index, Made* made) {
  VwPackSound* const  sound = &pack->sounds[index];
  VwLevelCurve* const curve = &pack->store->works[index].curve;
  const bool          loudest = sound->options.level.aim == VW_AIM_LOUDEST;
  VwFamilyOptions     options = sound->options;
  VwPackTakes         takes;
  VwFamily            family = {0};
  VwStatus            st = vw_pack_takes_load(pack, index, &takes);
  options.run_in_take = sound->wish->run_in_take ? &takes.run_in : NULL;
  options.ring_out_take = sound->wish->ring_out_take ? &takes.ring_out : NULL;
  if (!st) {
    const VwShots* const turns = &takes.turns;
    const VwFamilyWish   wish = {turns->n ? turns->takes : takes.takes,
                               turns->n ? turns->used : takes.facts,
                               turns->n ? turns->n_written : takes.n_takes,
                               &options};
    // Of a sound that cannot be made they tell why.
    sound->facts = takes.facts[0];
    st = vw_family_measure(&wish, &family, loudest ? curve : NULL);
  }
  if (!st) {
    keep_figures(&family, &takes, sound);
    st = find_all_kept(pack->options.board, &takes, sound);
  }
  st = st ? st : encode_all(pack, index, &family, made);
  vw_family_clear(&family);
  vw_pack_takes_clear(&takes);
  return st;
}

static void
made_clear(Made* made) {
  for (size_t i = 0; i < made->n_files; ++i) {
    free(made->files[i].name);
    vw_bytes_clear(&made->bytes[i]);
  }
  free(made->files);
  free(made->bytes);
}

/* Measure */

/// Find what tells the sounds of the same takes.
static VwStatus
digest_takes(VwPackSound* sound, VwPackWork* work) {
  const VwSoundWish* const wish = sound->wish;
  uint64_t                 digests[VW_PACK_TAKES_MOST];
  for (size_t i = 0; i < wish->n_takes; ++i) {
    const VwStatus st = vw_file_digest(wish->takes[i], &digests[i]);
    if (st) {
      sound->subject = wish->takes[i];
      return st;
    }
  }
  work->takes = vw_digest(digests, wish->n_takes * sizeof(digests[0]));
  return VW_OK;
}

/// Keep what files a sound makes, without what is in them.
static VwStatus
measure_files(const VwPack* pack, size_t index) {
  VwPackSound* const sound = &pack->sounds[index];
  Made               made = {0};
  const VwStatus     st = make(pack, index, &made);
  if (!st) {
    for (size_t i = 0; i < made.n_files; ++i) {
      vw_bytes_clear(&made.bytes[i]);
      made.files[i].digest = 0U;
    }
    sound->files = made.files;
    sound->n_files = made.n_files;
    made.files = NULL; // the sound's now
    made.n_files = 0;
  }
  made_clear(&made);
  return st;
}

static bool
is_take(const VwPackStore* store, const char* path) {
  struct stat status;
  bool        is = false;
  if (!stat(path, &status)) {
    for (size_t i = 0; !is && i < store->n_takes; ++i) {
      is = store->takes[i].device == status.st_dev &&
           store->takes[i].inode == status.st_ino;
    }
  }
  return is;
}

/// Look at what stands under a file's name. Returns why it may not be replaced.
static VwStatus
in_way(const VwPack* pack,
       const char*   path,
       VwPackFile*   file,
       uint64_t*     digest) {
  struct stat status;
  if (lstat(path, &status)) {
    return VW_OK;
  }
  file->fate = VW_PACK_FILE_REPLACED;
  if (is_take(pack->store, path)) {
    return VW_IS_TAKE;
  }
  if (S_ISDIR(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  // Of a link nothing is read: it is not ours.
  const bool own =
    !vw_pack_digest_file(path, digest) &&
    (vw_pack_list_holds(&pack->store->list, file->name, *digest) ||
     vw_is_own_output(path));
  return own || pack->options.force ? VW_OK : VW_EXISTS;
}

static VwStatus
look_there(const VwPack* pack, size_t index) {
  VwPackSound* const sound = &pack->sounds[index];
  VwPackWork* const  work = &pack->store->works[index];
  work->there = calloc(sound->n_files + 1U, sizeof(VwPackThere));
  VwStatus st = work->there ? VW_OK : VW_NO_MEMORY;
  for (size_t i = 0; !st && i < sound->n_files; ++i) {
    VwPackThere* const there = &work->there[i];
    VwPackFile* const  file = &sound->files[i];
    char* const        path = vw_path_join(pack->store->folder, file->name);
    st = path ? VW_OK : VW_NO_MEMORY;
    if (path) {
      there->in_way = in_way(pack, path, file, &there->digest);
    }
    free(path);
  }
  return st;
}

VwStatus
vw_pack_measure(VwPack* pack, size_t index) {
  assert(pack && index < pack->n_sounds);
  VwPackSound* const sound = &pack->sounds[index];
  VwPackWork* const  work = &pack->store->works[index];
  vw_pack_sound_forget(pack, index);
  sound->options.level = sound->wish->options.level;
  VwStatus st = work->n_names ? digest_takes(sound, work) : VW_NO_NAME;
  st = st ? st : measure_files(pack, index);
  sound->status = st ? st : look_there(pack, index);
  sound->measured = true;
  return sound->status;
}

/* Render */

/// Write a file where it waits for its name.
static VwStatus
stage(const VwPack* pack, const char* name, const VwBytes* bytes) {
  char* const    path = vw_pack_staged_path(pack->store, name);
  const VwStatus st = path ? vw_file_write(path, bytes) : VW_NO_MEMORY;
  free(path);
  return st;
}

/// Note what was made. What was there byte for byte stays; all else waits for
/// its name where the pack was begun.
static VwStatus
keep_files(const VwPack* pack, size_t index, const Made* made) {
  VwPackSound* const sound = &pack->sounds[index];
  VwStatus           st = VW_OK;
  for (size_t i = 0; !st && i < made->n_files; ++i) {
    VwPackFile* const  file = &sound->files[i];
    VwPackThere* const there = &pack->store->works[index].there[i];
    file->n_frames = made->files[i].n_frames;
    file->loop_start = made->files[i].loop_start;
    file->loop_end = made->files[i].loop_end;
    file->n_bytes = made->files[i].n_bytes;
    file->digest = made->files[i].digest;
    if (file->fate == VW_PACK_FILE_REPLACED && there->digest == file->digest) {
      file->fate = VW_PACK_FILE_SAME;
    } else if (pack->store->lock) {
      st = stage(pack, file->name, &made->bytes[i]);
      there->staged = !st;
      sound->subject = st ? file->name : NULL;
    }
  }
  return st;
}

static VwStatus
render(const VwPack* pack, size_t index) {
  VwPackSound* const sound = &pack->sounds[index];
  const double       target = sound->family.level.target_lufs;
  const bool         reached = sound->family.level.reached;
  Made               made = {0};
  VwStatus           st = make(pack, index, &made);
  if (!st && made.n_files != sound->n_files) {
    st = VW_WRITE_FAILED;
  }
  if (!st && sound->aimed) {
    sound->family.level.target_lufs = target;
    sound->family.level.reached = reached;
  }
  st = st ? st : keep_files(pack, index, &made);
  made_clear(&made);
  return st;
}

VwStatus
vw_pack_render(VwPack* pack, size_t index) {
  assert(pack && index < pack->n_sounds);
  VwPackSound* const sound = &pack->sounds[index];
  if (sound->due && !sound->status) {
    sound->status = render(pack, index);
    pack->store->works[index].made = !sound->status;
  }
  return sound->status;
}
