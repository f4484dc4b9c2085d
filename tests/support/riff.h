/// @file
/// A reader of WAV bytes of the tests' own, as strict as a small player.
///
/// Layout after Microsoft, "New Multimedia Data Types and Data Techniques"
/// 3.0, 1994.
#ifndef TESTS_RIFF_H
#define TESTS_RIFF_H

#include "volleyweave/volleyweave.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// What the bytes of a WAV file say.
typedef struct {
  unsigned tag;          ///< 1: PCM, 3: floating point.
  unsigned n_channels;   ///< Channels.
  unsigned rate_hz;      ///< Sample rate.
  unsigned bits;         ///< Bits of one value.
  unsigned block_bytes;  ///< Bytes of one frame.
  uint32_t second_bytes; ///< Bytes of one second.
  uint32_t fmt_bytes;    ///< Size of the format chunk.
  size_t   data_at;      ///< Where the frames start.
  size_t   data_bytes;   ///< How many bytes they take.
  size_t   fact_frames;  ///< What the fact chunk says, 0 without one.
  bool     has_loop;     ///< There is a loop in a smpl chunk.
  uint32_t loop_start;   ///< Its first frame.
  uint32_t loop_last;    ///< Its last frame.
  unsigned n_chunks;     ///< Chunks in the file.
} Riff;

/// Parse a WAV file. False where anything in it contradicts itself.
bool riff_parse(const VwBytes* bytes, Riff* riff);

/// The raw code at an index of the values: unsigned for 8 bit, else signed.
int32_t riff_code(const Riff* riff, const VwBytes* bytes, size_t index);

/// The frames, full scale 1. Free with vw_sound_clear().
VwSound riff_sound(const Riff* riff, const VwBytes* bytes);

#endif // TESTS_RIFF_H
