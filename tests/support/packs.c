#define _XOPEN_SOURCE 700

#include "support/packs.h"

#include "board/board.h"
#include "burst/burst.h"
#include "container/container.h"
#include "pack/pack.h"

#include <dirent.h>
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { RATE_HZ = 44100 };

void
packs_put_take(const char* path, unsigned seed, double seconds) {
  VwPiece  piece = {.part = VW_PART_WHOLE};
  VwFormat format = vw_format_defaults();
  VwBytes  bytes = {NULL, 0};
  uint64_t bits = seed * 2654435761U + 1U;
  if (vw_sound_init(&piece.sound, (size_t)(seconds * RATE_HZ), 1, RATE_HZ)) {
    abort();
  }
  const size_t start = RATE_HZ / 100;
  for (size_t i = start; i < piece.sound.n_frames; ++i) {
    bits = bits * 6364136223846793005U + 1442695040888963407U;
    const double noise = (double)(bits >> 40U) / 8388608.0 - 1.0;
    const double since_s = (double)(i - start) / RATE_HZ;
    const double level = 0.8 / (1.0 + seed % 7U);
    piece.sound.values[i] =
      (float)(level * noise * exp(-since_s / (seconds / 12.0)));
  }
  format.dither = VW_DITHER_NONE;
  FILE* const file = fopen(path, "wb");
  if (!file || vw_encode_wav(&piece, &format, 1, &bytes) ||
      fwrite(bytes.data, 1, bytes.n_bytes, file) != bytes.n_bytes ||
      fclose(file)) {
    abort();
  }
  vw_bytes_clear(&bytes);
  vw_sound_clear(&piece.sound);
}

VwSoundWish
packs_wish(const char* name, VwMake make, const char* const* take) {
  return (VwSoundWish){.name = name,
                       .make = make,
                       .takes = take,
                       .n_takes = 1,
                       .options = vw_family_defaults()};
}

VwBoard
packs_board(void) {
  VwBoard board = vw_board_defaults();
  strcpy(board.name, "plain");
  board.sample_rates_hz[0] = 22050;
  return board;
}

VwPackOptions
packs_options(const VwBoard* board, const char* folder) {
  VwPackOptions options = vw_pack_defaults();
  options.board = board;
  options.folder = folder;
  return options;
}

/* Threads */

typedef struct {
  VwPack* pack;
  VwStatus (*step)(VwPack* pack, size_t index);
  bool          unmeasured_alone;
  atomic_size_t next;
} Crew;

static void*
work(void* argument) {
  Crew* const crew = argument;
  for (size_t i = atomic_fetch_add(&crew->next, 1); i < crew->pack->n_sounds;
       i = atomic_fetch_add(&crew->next, 1)) {
    if (!crew->unmeasured_alone || !crew->pack->sounds[i].measured) {
      (void)crew->step(crew->pack, i);
    }
  }
  return NULL;
}

static void
run(VwPack* pack,
    VwStatus (*step)(VwPack* pack, size_t index),
    bool   unmeasured_alone,
    size_t n_threads) {
  pthread_t threads[16];
  Crew      crew = {pack, step, unmeasured_alone, 0};
  for (size_t i = 1; i < n_threads; ++i) {
    if (pthread_create(&threads[i], NULL, work, &crew)) {
      abort();
    }
  }
  work(&crew);
  for (size_t i = 1; i < n_threads; ++i) {
    pthread_join(threads[i], NULL);
  }
}

static bool
held(VwStatus status, const char* step) {
  if (status) {
    fprintf(stderr, "%s: %s\n", step, vw_strerror(status));
  }
  return !status;
}

bool
packs_settle(const VwSoundWish*   wishes,
             size_t               n_wishes,
             const VwPackOptions* options,
             size_t               n_threads,
             VwPack*              pack) {
  if (!held(vw_pack_open(wishes, n_wishes, options, pack), "open")) {
    return false;
  }
  for (size_t i = 0; i < pack->faults.n_faults; ++i) {
    fprintf(stderr, "%s\n", pack->faults.faults[i].what);
  }
  do {
    run(pack, vw_pack_measure, true, n_threads);
    if (!held(vw_pack_settle(pack), "settle")) {
      return false;
    }
  } while (pack->sums.n_unmeasured);
  return true;
}

bool
packs_make(const VwSoundWish*   wishes,
           size_t               n_wishes,
           const VwPackOptions* options,
           size_t               n_threads,
           VwPack*              pack) {
  if (!packs_settle(wishes, n_wishes, options, n_threads, pack) ||
      !held(vw_pack_begin(pack), "begin")) {
    return false;
  }
  run(pack, vw_pack_render, false, n_threads);
  return held(vw_pack_end(pack), "end");
}

/* Folders */

static uint64_t
fnv(uint64_t digest, const void* bytes, size_t n_bytes) {
  const unsigned char* const at = bytes;
  for (size_t i = 0; i < n_bytes; ++i) {
    digest = (digest ^ at[i]) * 1099511628211U;
  }
  return digest;
}

static uint64_t
digest_file(uint64_t digest, const char* path) {
  char        bytes[65536];
  size_t      n = 0;
  FILE* const file = fopen(path, "rb");
  if (!file) {
    abort();
  }
  while ((n = fread(bytes, 1, sizeof(bytes), file))) {
    digest = fnv(digest, bytes, n);
  }
  fclose(file);
  return digest;
}

uint64_t
packs_digest(const char* folder, size_t* n_files) {
  struct dirent** entries = NULL;
  uint64_t        digest = 14695981039346656037U;
  const int       n = scandir(folder, &entries, NULL, alphasort);
  *n_files = 0;
  for (int i = 0; i < n; ++i) {
    char        path[4096];
    struct stat status;
    size_t      n_inside = 0;
    snprintf(path, sizeof(path), "%s/%s", folder, entries[i]->d_name);
    if (*entries[i]->d_name != '.' && !stat(path, &status)) {
      digest = fnv(digest, entries[i]->d_name, strlen(entries[i]->d_name));
      if (S_ISDIR(status.st_mode)) {
        const uint64_t inside = packs_digest(path, &n_inside);
        digest = fnv(digest, &inside, sizeof(inside));
      } else {
        digest = digest_file(digest, path);
        n_inside = 1;
      }
      *n_files += n_inside;
    }
    free(entries[i]);
  }
  free(entries);
  return digest;
}
