// Files that tell nothing of their format, read back.

#include "base/size.h"
#include "container/codes.h"
#include "container/container.h"
#include "store/store.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/// How many codes there are to a full scale, by their bytes.
static double
scale_of(VwEncoding encoding) {
  return encoding == VW_ENCODING_U8    ? 128.0
         : encoding == VW_ENCODING_S16 ? 32768.0
                                       : 8388608.0;
}

static float
value_of(VwEncoding encoding, long code) {
  const double middle = encoding == VW_ENCODING_U8 ? 128.0 : 0.0;
  return (float)(((double)code - middle) / scale_of(encoding));
}

/* Raw */

static float
value_at(const VwBytes* codes, VwEncoding encoding, size_t index) {
  float value = 0.0F;
  if (encoding != VW_ENCODING_FLOAT) {
    return value_of(encoding, vw_codes_at(codes, encoding, index));
  }
  // Little end first, whatever this machine's is.
  const unsigned char* const at = codes->data + 4U * index;
  const uint32_t             bits = (uint32_t)at[0] | (uint32_t)at[1] << 8U |
                        (uint32_t)at[2] << 16U | (uint32_t)at[3] << 24U;
  memcpy(&value, &bits, sizeof(value));
  return value;
}

static VwStatus
decode_raw(const VwBytes* bytes, const VwFormat* format, VwSound* sound) {
  const size_t n_frame =
    (size_t)vw_size_value_bytes(format->encoding) * format->n_channels;
  const VwStatus st = vw_sound_init(
    sound, bytes->n_bytes / n_frame, format->n_channels, format->rate_hz);
  for (size_t i = 0; !st && i < sound->n_frames * sound->n_channels; ++i) {
    sound->values[i] = value_at(bytes, format->encoding, i);
  }
  return st;
}

/* Source text */

/// Behind the brace that opens the array, or NULL.
static const char*
first_code(const char* text) {
  const char* const brace = strchr(text, '{');
  return brace ? brace + 1 : NULL;
}

/// Read the codes up to the brace that ends them; `values` may be NULL.
static size_t
read_codes(const char* text, VwEncoding encoding, float* values) {
  size_t n = 0;
  for (const char* at = text; at && *at && *at != '}';) {
    char*      end = NULL;
    const long code = strtol(at, &end, 10);
    if (end == at) {
      return 0;
    }
    if (values) {
      values[n] = value_of(encoding, code);
    }
    ++n;
    at = end + strspn(end, ", \n");
  }
  return n;
}

static VwStatus
decode_array(const VwBytes* bytes, const VwFormat* format, VwSound* sound) {
  char* const text = malloc(bytes->n_bytes + 1U);
  if (!text) {
    return VW_NO_MEMORY;
  }
  memcpy(text, bytes->data, bytes->n_bytes);
  text[bytes->n_bytes] = '\0';
  const char* const codes = first_code(text);
  const size_t      n = read_codes(codes, format->encoding, NULL);
  VwStatus          st =
    n ? vw_sound_init(
          sound, n / format->n_channels, format->n_channels, format->rate_hz)
               : VW_DAMAGED;
  if (!st && n % format->n_channels) {
    vw_sound_clear(sound);
    st = VW_DAMAGED;
  }
  if (!st) {
    (void)read_codes(codes, format->encoding, sound->values);
  }
  free(text);
  return st;
}

VwStatus
vw_decode(const VwBytes* bytes, const VwWrapping* wrapping, VwSound* sound) {
  assert(bytes && wrapping && sound);
  const VwFormat* const format = &wrapping->format;
  const bool            raw = wrapping->container == VW_CONTAINER_RAW;
  if ((!raw && wrapping->container != VW_CONTAINER_C_ARRAY) ||
      !vw_size_value_bytes(format->encoding) || !format->n_channels ||
      !format->rate_hz) {
    return VW_BAD_OPTION;
  }
  VwSound        out = {0};
  const VwStatus st =
    raw ? decode_raw(bytes, format, &out) : decode_array(bytes, format, &out);
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
  if (wrapping->container != VW_CONTAINER_RAW &&
      wrapping->container != VW_CONTAINER_C_ARRAY) {
    const VwReadOptions options = vw_read_defaults();
    return vw_read(path, &options, sound, NULL);
  }
  VwBytes  bytes = {0};
  VwStatus st = vw_file_read(path, &bytes);
  st = st ? st : vw_decode(&bytes, wrapping, sound);
  vw_bytes_clear(&bytes);
  return st;
}
