#include "base/size.h"
#include "pack/internal.h"
#include "signal/signal.h"

#include <math.h>
#include <stdlib.h>

// The share of what the speaker can play that a lower sample rate has to keep:
// 5 % of the power are 0.2 dB (closed form; chosen here).
#define KEPT_LEAST 0.95

/* Sizes */

static uint64_t
on_card(const VwBoard* board, uint64_t n_bytes) {
  return vw_size_on_card(n_bytes, board->cluster_bytes);
}

/// The lowest sample rate that keeps enough of a sound, or the one it has.
static unsigned
lowest_rate(const VwBoard* board, const VwPackSound* sound) {
  unsigned lowest = sound->options.format.rate_hz;
  for (unsigned i = 0; i < board->n_sample_rates && i < 8U; ++i) {
    const unsigned rate_hz = board->sample_rates_hz[i];
    // A speaker's corner has to stay well below half of it, as --speaker has
    // it.
    const bool plays = sound->options.level.speaker.corner_hz <=
                       VW_HIGH_PASS_MOST * (double)rate_hz;
    if (rate_hz < lowest && plays && sound->kept[i] >= KEPT_LEAST) {
      lowest = rate_hz;
    }
  }
  return lowest;
}

/// How much of a file's length a change leaves.
static double
share_left(const VwBoard*      board,
           const VwPackSound*  sound,
           const VwPackFile*   file,
           const VwPackChange* change) {
  const VwFormat* const format = &sound->options.format;
  const unsigned        shots = sound->family.plan.shots;
  const bool            may_shorten =
    !sound->wish->options.shots && file->part == VW_PART_LOOP;
  switch (change->kind) {
    case VW_PACK_RATE:
      return (double)change->rate_hz / format->rate_hz;
    case VW_PACK_ENCODING:
      return (double)vw_size_value_bytes(change->encoding) /
             vw_size_value_bytes(format->encoding);
    case VW_PACK_CHANNELS:
      return 1.0 / format->n_channels;
    case VW_PACK_CYCLE:
      return may_shorten && shots > sound->wish->n_takes
               ? (double)sound->wish->n_takes / shots
               : 1.0;
    case VW_PACK_FIT:
      break;
  }
  return (double)lowest_rate(board, sound) / format->rate_hz;
}

static uint64_t
size_left(const VwPack*       pack,
          const VwPackSound*  sound,
          const VwPackFile*   file,
          const VwPackChange* change) {
  const VwBoard* const board = pack->options.board;
  const double         share = share_left(board, sound, file, change);
  const uint64_t       header =
    file->n_bytes < VW_WAV_HEADER_BYTES ? 0U : VW_WAV_HEADER_BYTES;
  const double data = (double)(file->n_bytes - header);
  return header + (uint64_t)ceil(data * fmin(share, 1.0));
}

/// What the folders of groups take: a cluster each, as long as they are small.
static uint64_t
folders_on_card(const VwPack* pack) {
  return pack->store->n_folders * on_card(pack->options.board, 1U);
}

/// What all takes on the card with a change.
static uint64_t
sum_with(const VwPack* pack, const VwPackChange* change) {
  uint64_t sum = folders_on_card(pack);
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      sum += on_card(pack->options.board,
                     size_left(pack, sound, &sound->files[k], change));
    }
  }
  return sum;
}

/* Changes */

/// Note a change that helps.
static void
note(VwPack* pack, VwPackChange change) {
  VwPackSums* const sums = &pack->sums;
  const uint64_t    capacity = pack->options.board->capacity_bytes;
  change.n_bytes_on_card = sum_with(pack, &change);
  change.fits = change.n_bytes_on_card <= capacity;
  if (change.n_bytes_on_card < sums->n_bytes_on_card &&
      sums->n_changes < sizeof(sums->changes) / sizeof(sums->changes[0])) {
    sums->changes[sums->n_changes++] = change;
  }
}

static void
find_changes(VwPack* pack) {
  const VwBoard* const board = pack->options.board;
  note(pack, (VwPackChange){.kind = VW_PACK_FIT});
  for (unsigned i = 0; i < board->n_sample_rates && i < 8U; ++i) {
    note(pack,
         (VwPackChange){.kind = VW_PACK_RATE,
                        .rate_hz = board->sample_rates_hz[i]});
  }
  for (unsigned i = 0; i < board->n_encodings && i < 4U; ++i) {
    note(pack,
         (VwPackChange){.kind = VW_PACK_ENCODING,
                        .encoding = board->encodings[i]});
  }
  for (unsigned i = 0; i < board->n_channels && i < 2U; ++i) {
    if (board->channels[i] == 1U) {
      note(pack, (VwPackChange){.kind = VW_PACK_CHANNELS});
    }
  }
  note(pack, (VwPackChange){.kind = VW_PACK_CYCLE});
}

void
vw_pack_sums_find(VwPack* pack) {
  const VwBoard* const board = pack->options.board;
  VwPackSums* const    sums = &pack->sums;
  sums->n_bytes_on_card = folders_on_card(pack);
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    const VwPackSound* const sound = &pack->sounds[i];
    sums->n_failed += sound->status ? 1U : 0U;
    for (size_t k = 0; !sound->status && k < sound->n_files; ++k) {
      ++sums->n_files;
      sums->n_bytes += sound->files[k].n_bytes;
      sums->n_bytes_on_card += on_card(board, sound->files[k].n_bytes);
    }
  }
  if (board->files_max && sums->n_files > board->files_max) {
    sums->n_files_over = sums->n_files - board->files_max;
  }
  if (board->capacity_bytes && sums->n_bytes_on_card > board->capacity_bytes) {
    sums->n_bytes_over = sums->n_bytes_on_card - board->capacity_bytes;
    find_changes(pack);
  }
}

/* Fit */

/// A sound that can be lowered.
typedef struct {
  VwPackSound* sound;
  unsigned     rate_hz;
  double       kept;
  uint64_t     saved;
} Candidate;

static uint64_t
saved_by(const VwPack* pack, const VwPackSound* sound, unsigned rate_hz) {
  const VwPackChange change = {.kind = VW_PACK_RATE, .rate_hz = rate_hz};
  uint64_t           saved = 0;
  for (size_t i = 0; i < sound->n_files; ++i) {
    const VwPackFile* const file = &sound->files[i];
    saved +=
      on_card(pack->options.board, file->n_bytes) -
      on_card(pack->options.board, size_left(pack, sound, file, &change));
  }
  return saved;
}

double
vw_pack_kept(const VwBoard* board, const VwPackSound* sound, unsigned rate_hz) {
  unsigned i = 0;
  while (board->sample_rates_hz[i] != rate_hz) {
    ++i;
  }
  return sound->kept[i];
}

/// The least audible first, then what saves most.
static int
compare_candidates(const void* a, const void* b) {
  const Candidate* const x = a;
  const Candidate* const y = b;
  if (x->kept != y->kept) {
    return x->kept > y->kept ? -1 : 1;
  }
  if (x->saved != y->saved) {
    return x->saved > y->saved ? -1 : 1;
  }
  return x->sound < y->sound ? -1 : x->sound > y->sound;
}

static size_t
list_candidates(VwPack* pack, Candidate* candidates) {
  const VwBoard* const board = pack->options.board;
  size_t               n = 0;
  for (size_t i = 0; i < pack->n_sounds; ++i) {
    VwPackSound* const sound = &pack->sounds[i];
    const unsigned     rate_hz = lowest_rate(board, sound);
    if (!sound->status && sound->measured &&
        rate_hz < sound->options.format.rate_hz) {
      candidates[n++] = (Candidate){sound,
                                    rate_hz,
                                    vw_pack_kept(board, sound, rate_hz),
                                    saved_by(pack, sound, rate_hz)};
    }
  }
  qsort(candidates, n, sizeof(Candidate), compare_candidates);
  return n;
}

static void
lower(VwPack* pack, const Candidate* candidate) {
  VwPackSound* const sound = candidate->sound;
  if (!sound->rate_before_hz) {
    sound->rate_before_hz = sound->options.format.rate_hz;
  }
  sound->options.format.rate_hz = candidate->rate_hz;
  sound->measured = false;
  ++pack->sums.n_unmeasured;
}

VwStatus
vw_pack_sums_fit(VwPack* pack) {
  Candidate* const candidates = calloc(pack->n_sounds + 1U, sizeof(Candidate));
  if (!candidates) {
    return VW_NO_MEMORY;
  }
  const size_t n = list_candidates(pack, candidates);
  uint64_t     over = pack->sums.n_bytes_over;
  for (size_t i = 0; over && i < n; ++i) {
    over -= candidates[i].saved < over ? candidates[i].saved : over;
    lower(pack, &candidates[i]);
  }
  free(candidates);
  return VW_OK;
}
