#include "base/size.h"

#include "base/units.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

unsigned
vw_size_value_bytes(VwEncoding encoding) {
  static const unsigned n_bytes[] = {[VW_ENCODING_U8] = 1U,
                                     [VW_ENCODING_S16] = 2U,
                                     [VW_ENCODING_S24] = 3U,
                                     [VW_ENCODING_FLOAT] = 4U};
  return (size_t)encoding < sizeof(n_bytes) / sizeof(n_bytes[0])
           ? n_bytes[encoding]
           : 0U;
}

uint64_t
vw_size_on_card(uint64_t n_bytes, uint64_t cluster_bytes) {
  const uint64_t cluster = cluster_bytes ? cluster_bytes : 1U;
  return (n_bytes + cluster - 1U) / cluster * cluster;
}

/// Bytes of a frame.
static size_t
frame_bytes(const VwFormat* format) {
  return (size_t)vw_size_value_bytes(format->encoding) * format->n_channels;
}

size_t
vw_size_unit(const VwFormat* format) {
  return frame_bytes(format) % 2U ? 2U : 1U;
}

size_t
vw_size_loop_unit(const VwFamilyOptions* options) {
  const size_t unit = vw_size_unit(&options->format);
  const size_t buffer =
    options->form == VW_FORM_BURST ? 1U : options->buffer_frames;
  return buffer % unit ? buffer * unit : buffer;
}

size_t
vw_size_gap(const VwFamilyOptions* options, unsigned rate_hz) {
  return options->form == VW_FORM_WHOLE_FILE
           ? vw_frames_of_s(options->gap_ms / 1000.0, (double)rate_hz)
           : 0U;
}

size_t
vw_size_loop_most(const VwFamilyOptions* options) {
  const uint64_t bytes = options->file_bytes_max;
  if (!bytes || options->form == VW_FORM_BURST) {
    return SIZE_MAX;
  }
  return bytes > VW_WAV_HEADER_BYTES ? (size_t)((bytes - VW_WAV_HEADER_BYTES) /
                                                frame_bytes(&options->format))
                                     : 0U;
}

uint64_t
vw_size_of_one(uint64_t file_bytes_max) {
  return file_bytes_max > VW_WAV_HEADER_BYTES
           ? VW_WAV_HEADER_BYTES + (file_bytes_max - VW_WAV_HEADER_BYTES) / 2U
           : file_bytes_max;
}

void
vw_bytes_clear(VwBytes* bytes) {
  if (bytes) {
    free(bytes->data);
    memset(bytes, 0, sizeof(*bytes));
  }
}
