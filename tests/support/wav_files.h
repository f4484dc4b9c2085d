/// @file
/// Takes, good and bad, as files.
#ifndef TESTS_WAV_FILES_H
#define TESTS_WAV_FILES_H

#include <stddef.h>
#include <stdint.h>

/// What a WAV file has in it.
typedef enum {
  FILL_SHOT,     ///< Noise that starts at 0.1 s and decays by 60 dB in 0.5 s.
  FILL_NOISE,    ///< Steady noise.
  FILL_SILENCE,  ///< Zeros.
  FILL_CONSTANT, ///< One value throughout.
  FILL_NAN,      ///< The shot, with one value that is no number.
  FILL_INFINITE, ///< The shot, with one value without end.
  FILL_CLIPPED,  ///< The shot, four times as loud as fits.
  FILL_OFFSET,   ///< The shot on an offset of 0.25.
  FILL_OPPOSED,  ///< The shot, every second channel inverted.
  FILL_TWICE,    ///< The shot, and again 1 s later.
  FILL_UNEVEN,   ///< The shot, and again 0.7 s and 1.8 s later.
  FILL_RAPID, ///< Shots that decay in a third of that, every 80 ms to the end.
  FILL_LATE,  ///< The shot, every second channel 8 ms late.
  FILL_DEAD,  ///< The shot, every second channel silent.
  FILL_HUM,   ///< A steady tone of 150 Hz.
  FILL_HORN,  ///< The same, which fades at both ends.
  FILL_GLIDE, ///< A tone that rises from 150 Hz by an octave.
  FILL_LOW,   ///< A tone of 40 Hz that swells and fades.
  FILL_SLOW,  ///< A tone that rises for 100 ms, then decays as the shot.
} Fill;

/// A WAV file.
typedef struct {
  const char* path;
  Fill        fill;
  double      seconds;    ///< Length; see `n_frames`.
  size_t      n_frames;   ///< Length where `seconds` is 0.
  unsigned    rate_hz;    ///< 0: 44100.
  unsigned    n_channels; ///< 0 in the file where `no_channels`.
  int         no_channels;
  int         is_float; ///< 32-bit float, else 16-bit PCM.
  double      there;    ///< Part of the data that is there; 0: all.
} WavFile;

/// Write it. Stops the test where that fails.
void wav_file_write(const WavFile* file);

/// Write any bytes.
void bytes_write(const char* path, const void* bytes, size_t n_bytes);

#endif
