/// @file
/// Files of takes, whole and spoiled, written without the library.
#ifndef TESTS_TAKES_H
#define TESTS_TAKES_H

#include <stddef.h>
#include <stdint.h>

/// A sound file to write with a general writer.
typedef struct {
  const char* path;
  int         format; ///< Of libsndfile.
  unsigned    n_channels;
  unsigned    rate_hz;
  size_t      n_frames;
  double      level; ///< Amplitude of the tone.
} TakeFile;

/// Write a tone of 0.01 of the sample rate.
void takes_put(const TakeFile* file);

/// The value that takes_put() gives a frame, the same in all channels.
float takes_value(const TakeFile* file, size_t frame);

/// Keep so many bytes of a file.
void takes_cut(const char* path, size_t n_bytes);

/// A WAV header byte by byte, true or not, and zeros behind it.
typedef struct {
  unsigned tag;
  unsigned n_channels;
  uint32_t rate_hz;
  unsigned bits;
  uint32_t data_bytes; ///< As the header says.
  size_t   n_bytes;    ///< Bytes behind it.
} TakeHeader;

/// Write a WAV file with such a header.
void takes_put_header(const char* path, const TakeHeader* header);

#endif // TESTS_TAKES_H
