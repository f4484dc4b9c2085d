/// @file
/// WAV files put together byte by byte, right or with one thing wrong.
///
/// Layout after Microsoft, "New Multimedia Data Types and Data Techniques" 3.0,
/// 1994.
#ifndef TESTS_PLAIN_WAV_H
#define TESTS_PLAIN_WAV_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A file. All zero: 0.1 s of a decaying tone, 44.1 kHz, 16 bit, mono, from
/// zero to zero, in 44 bytes and the data.
typedef struct {
  unsigned    tag;        ///< 0: 1.
  unsigned    fmt_bytes;  ///< 0: 16.
  unsigned    n_channels; ///< 0: 1.
  unsigned    rate_hz;    ///< 0: 44100.
  unsigned    bits;       ///< 0: 16.
  unsigned    block_add;  ///< Added to the bytes of a frame.
  uint32_t    riff_add;   ///< Added to the first size.
  size_t      n_frames;   ///< 0: 4410.
  bool        no_frames;  ///< There are none.
  bool        has_size;   ///< `data_size` is written as the data's size.
  uint32_t    data_size;  ///< See there.
  bool        data_first; ///< The data comes before the format.
  const char* before;     ///< Name of a chunk of 10 bytes before the data.
  const char* behind;     ///< Name of a chunk of 10 bytes after the data.
  unsigned    n_loops;    ///< Loops in a chunk of loop points after the data.
  bool        no_loop;    ///< That chunk without a loop in it.
  uint32_t    loop_type;  ///< Of these.
  uint32_t    loop_start;
  uint32_t    loop_last;
  uint32_t    loop_cut;  ///< Bytes that chunk is too short by.
  double      amplitude; ///< 0: 0.5.
  double      offset;    ///< Added to all frames but the first and last.
  double      first;     ///< The first frame.
  double      last;      ///< The last frame.
  size_t      lead;      ///< Frames of silence in front.
} PlainWav;

/// Write it. Stops the test where that fails.
void plain_wav_put(const char* path, const PlainWav* wav);

#endif // TESTS_PLAIN_WAV_H
