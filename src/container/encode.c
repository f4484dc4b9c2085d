// All that is known of containers, and what is made and read by it.

#include "base/size.h"
#include "container/container.h"
#include "container/formats.h"
#include "store/store.h"

#include <assert.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

#define BIT(encoding) (1U << (unsigned)(encoding))
#define PACKABLE (BIT(VW_ENCODING_S16) | BIT(VW_ENCODING_S24))
#define WHOLE (BIT(VW_ENCODING_U8) | PACKABLE)
#define ALL (WHOLE | BIT(VW_ENCODING_FLOAT))

/// A container.
typedef struct {
  const char* name; ///< As a person calls it.
  const char* ending;
  VwPromise   promise;   ///< Of its ending.
  unsigned    encodings; ///< Those that it carries.
  VwStatus (*encode)(const VwPiece*    piece,
                     const VwWrapping* wrapping,
                     VwBytes*          bytes);
  /// Of those whose files tell nothing of their format.
  VwStatus (*decode)(const VwBytes*  bytes,
                     const VwFormat* format,
                     VwSound*        sound);
  /// Of packed ones.
  bool (*look)(const VwBytes* head, VwPackedHead* told);
} Container;

// clang-format off
static const Container containers[] = {
  [VW_CONTAINER_WAV] = {"WAV", ".wav", VW_PROMISE_SOUND, ALL,
                        .encode = vw_wav_encode},
  [VW_CONTAINER_OGG] = {"Ogg", ".ogg", VW_PROMISE_SOUND, ALL,
                        .encode = vw_ogg_encode, .look = vw_ogg_look},
  [VW_CONTAINER_FLAC] = {"FLAC", ".flac", VW_PROMISE_SOUND, PACKABLE,
                         .encode = vw_codes_pack, .look = vw_flac_look},
  [VW_CONTAINER_RAW] = {"raw", ".raw", VW_PROMISE_CODES, ALL,
                        .encode = vw_raw_encode, .decode = vw_raw_decode},
  [VW_CONTAINER_C_ARRAY] = {"C", ".h", VW_PROMISE_SOURCE, WHOLE,
                            .encode = vw_c_array_encode,
                            .decode = vw_c_array_decode},
};
// clang-format on

const VwWord vw_container_words[] = {
  {"wav", VW_CONTAINER_WAV},
  {"ogg", VW_CONTAINER_OGG},
  {"flac", VW_CONTAINER_FLAC},
  {"raw", VW_CONTAINER_RAW, " (no header)"},
  {"c-array", VW_CONTAINER_C_ARRAY, " (source text in C)"},
  {NULL, 0}};

static_assert(COUNT(vw_container_words) == COUNT(containers) + 1U,
              "every container has its word");

/// What is known of one, or NULL.
static const Container*
find(VwContainer container) {
  return (size_t)container < COUNT(containers) ? &containers[container] : NULL;
}

const char*
vw_container_name(VwContainer container) {
  const Container* const row = find(container);
  return row ? row->name : "";
}

const char*
vw_container_ending(VwContainer container) {
  const Container* const row = find(container);
  return row ? row->ending : "";
}

bool
vw_container_carries(VwContainer container, VwEncoding encoding) {
  const Container* const row = find(container);
  return row && vw_size_value_bytes(encoding) && row->encodings & BIT(encoding);
}

bool
vw_container_is_bare(VwContainer container) {
  const Container* const row = find(container);
  return row && row->decode;
}

bool
vw_container_is_packed(VwContainer container) {
  const Container* const row = find(container);
  return row && row->look;
}

bool
vw_container_look(VwContainer    container,
                  const VwBytes* head,
                  VwPackedHead*  told) {
  const Container* const row = find(container);
  *told = (VwPackedHead){0};
  return row && row->look && row->look(head, told);
}

/* Names */

VwPromise
vw_name_promises(const char* name) {
  // Of no container that is written here.
  static const struct {
    const char* ending;
    VwPromise   promise;
  } others[] = {{".wave", VW_PROMISE_SOUND},
                {".oga", VW_PROMISE_SOUND},
                {".opus", VW_PROMISE_SOUND},
                {".mp3", VW_PROMISE_SOUND},
                {".aif", VW_PROMISE_SOUND},
                {".aiff", VW_PROMISE_SOUND},
                {".aifc", VW_PROMISE_SOUND},
                {".au", VW_PROMISE_SOUND},
                {".caf", VW_PROMISE_SOUND},
                {".m4a", VW_PROMISE_SOUND},
                {".aac", VW_PROMISE_SOUND},
                {".wma", VW_PROMISE_SOUND},
                {".pcm", VW_PROMISE_CODES},
                {".mid", VW_PROMISE_CODES},
                {".c", VW_PROMISE_SOURCE}};

  for (size_t i = 0; i < COUNT(containers); ++i) {
    if (vw_path_ends_in(name, containers[i].ending)) {
      return containers[i].promise;
    }
  }
  for (size_t i = 0; i < COUNT(others); ++i) {
    if (vw_path_ends_in(name, others[i].ending)) {
      return others[i].promise;
    }
  }
  return VW_PROMISE_NOTHING;
}

/* Files */

VwStatus
vw_encode(const VwPiece* piece, const VwWrapping* wrapping, VwBytes* bytes) {
  assert(piece && wrapping && bytes);
  const Container* const row = find(wrapping->container);
  const VwEncoding       encoding = wrapping->format.encoding;
  if (!row || !vw_size_value_bytes(encoding)) {
    return VW_BAD_OPTION;
  }
  return vw_container_carries(wrapping->container, encoding)
           ? row->encode(piece, wrapping, bytes)
           : VW_NOT_CARRIED;
}

VwStatus
vw_decode(const VwBytes* bytes, const VwWrapping* wrapping, VwSound* sound) {
  assert(bytes && wrapping && sound);
  const VwFormat* const format = &wrapping->format;
  VwSound               out = {0};
  if (!vw_container_is_bare(wrapping->container) ||
      !vw_container_carries(wrapping->container, format->encoding) ||
      !format->n_channels || !format->rate_hz) {
    return VW_BAD_OPTION;
  }
  const VwStatus st = find(wrapping->container)->decode(bytes, format, &out);
  if (st) {
    return st;
  }
  if (!out.n_frames) {
    vw_sound_clear(&out);
    return VW_NO_FRAMES;
  }
  *sound = out;
  return VW_OK;
}

VwStatus
vw_read_made(const char* path, const VwWrapping* wrapping, VwSound* sound) {
  assert(path && wrapping && sound);
  if (!vw_container_is_bare(wrapping->container)) {
    const VwReadOptions options = vw_read_defaults();
    return vw_read(path, &options, sound, NULL);
  }
  VwBytes  bytes = {0};
  VwStatus st = vw_file_read(path, &bytes);
  st = st ? st : vw_decode(&bytes, wrapping, sound);
  vw_bytes_clear(&bytes);
  return st;
}
