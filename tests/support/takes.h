/// @file
/// Files of takes, whole and spoiled, written without the library, and reading
/// them.
#ifndef TESTS_TAKES_H
#define TESTS_TAKES_H

#include "volleyweave/volleyweave.h"

#include <stddef.h>
#include <stdint.h>

/// A sound file to write with a general writer.
typedef struct {
  const char* path;
  int         format; ///< Of libsndfile.
  unsigned    n_channels;
  unsigned    rate_hz;
  size_t      n_frames;
  double      level;    ///< Amplitude of the tone.
  bool        constant; ///< The bit rate of an MP3 file, and the highest.
} TakeFile;

/// Write a tone of 0.01 of the sample rate.
void takes_put(const TakeFile* file);

/// The value that takes_put() gives a frame, the same in all channels.
float takes_value(const TakeFile* file, size_t frame);

/// A format that is read.
typedef struct {
  const char* name;
  int         format; ///< Of libsndfile.
  double      error;  ///< Greatest, of what takes_put() wrote.
} TakeFormat;

#define TAKES_N_FORMATS 16U

/// What loses nothing gives the codes of 16 bits back; the others are near.
extern const TakeFormat takes_formats[TAKES_N_FORMATS];

/// A second of two channels; give it a format.
extern const TakeFile takes_second;

/// Read with the library under test, as it comes.
///
/// Where that fails, the sound must be left as it was; no file may stay open.
VwStatus takes_read(const char* path, VwSound* sound, VwReadFault* fault);

/// What takes_read() says of a file.
VwStatus takes_status(const char* path);

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
