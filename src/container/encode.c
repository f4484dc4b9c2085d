#include "base/size.h"
#include "container/container.h"
#include "container/formats.h"

#include <assert.h>

const char*
vw_container_ending(VwContainer container) {
  static const char* const endings[] = {
    [VW_CONTAINER_WAV] = ".wav",
    [VW_CONTAINER_OGG] = ".ogg",
    [VW_CONTAINER_FLAC] = ".flac",
    [VW_CONTAINER_RAW] = ".raw",
    [VW_CONTAINER_C_ARRAY] = ".h",
  };
  return (size_t)container < sizeof(endings) / sizeof(endings[0])
           ? endings[container]
           : "";
}

bool
vw_container_carries(VwContainer container, VwEncoding encoding) {
  const bool is_float = encoding == VW_ENCODING_FLOAT;
  switch (container) {
    case VW_CONTAINER_FLAC:
      return encoding == VW_ENCODING_S16 || encoding == VW_ENCODING_S24;
    case VW_CONTAINER_C_ARRAY:
      return vw_size_value_bytes(encoding) && !is_float;
    case VW_CONTAINER_WAV:
    case VW_CONTAINER_OGG:
    case VW_CONTAINER_RAW:
      return vw_size_value_bytes(encoding);
  }
  return false;
}

static VwStatus
encode_wav(const VwPiece* piece, const VwWrapping* wrapping, VwBytes* bytes) {
  VwPiece plain = *piece;
  plain.has_loop = piece->has_loop && wrapping->loop_points;
  return vw_encode_wav(&plain, &wrapping->format, wrapping->seed, bytes);
}

/// Wrap codes; those of a raw file are all there is to it.
static VwStatus
wrap(const VwPiece*    piece,
     const VwWrapping* wrapping,
     VwBytes*          codes,
     VwBytes*          bytes) {
  const VwEncoding encoding = wrapping->format.encoding;
  if (wrapping->container == VW_CONTAINER_FLAC) {
    return vw_compress_flac(&piece->sound, encoding, codes, bytes);
  }
  if (wrapping->container == VW_CONTAINER_C_ARRAY) {
    return vw_c_array_make(piece, wrapping, codes, bytes);
  }
  *bytes = *codes;
  *codes = (VwBytes){0};
  return VW_OK;
}

VwStatus
vw_encode(const VwPiece* piece, const VwWrapping* wrapping, VwBytes* bytes) {
  assert(piece && wrapping && bytes);
  const VwFormat* const format = &wrapping->format;
  if (!*vw_container_ending(wrapping->container) ||
      !vw_size_value_bytes(format->encoding)) {
    return VW_BAD_OPTION;
  }
  if (!vw_container_carries(wrapping->container, format->encoding)) {
    return VW_NOT_CARRIED;
  }
  if (wrapping->container == VW_CONTAINER_WAV) {
    return encode_wav(piece, wrapping, bytes);
  }
  if (wrapping->container == VW_CONTAINER_OGG) {
    return vw_compress_ogg(&piece->sound, bytes);
  }
  VwBytes  codes = {0};
  VwStatus st = vw_codes_make(&piece->sound, format, wrapping->seed, &codes);
  st = st ? st : wrap(piece, wrapping, &codes, bytes);
  vw_bytes_clear(&codes);
  return st;
}
