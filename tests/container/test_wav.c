// The bytes of a file: read by a parser of the tests' own and by a general
// reader, and the two compared with each other and with what was meant.

#include "container/container.h"
#include "support/check.h"
#include "support/riff.h"

#include <sndfile.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A general reader on bytes in memory. */

typedef struct {
  const VwBytes* bytes;
  sf_count_t     at;
} Memory;

static sf_count_t
memory_size(void* data) {
  return (sf_count_t)((Memory*)data)->bytes->n_bytes;
}

static sf_count_t
memory_seek(sf_count_t offset, int whence, void* data) {
  Memory* const memory = data;
  memory->at = offset + (whence == SEEK_CUR   ? memory->at
                         : whence == SEEK_END ? memory_size(data)
                                              : 0);
  return memory->at;
}

static sf_count_t
memory_read(void* to, sf_count_t n_wanted, void* data) {
  Memory* const    memory = data;
  const sf_count_t n_left = memory_size(data) - memory->at;
  const sf_count_t n = n_wanted < n_left ? n_wanted : n_left;
  memcpy(to, memory->bytes->data + memory->at, (size_t)n);
  memory->at += n;
  return n;
}

static sf_count_t
memory_tell(void* data) {
  return ((Memory*)data)->at;
}

static SNDFILE*
open_memory(Memory* memory, SF_INFO* info) {
  SF_VIRTUAL_IO io = {.get_filelen = memory_size,
                      .seek = memory_seek,
                      .read = memory_read,
                      .tell = memory_tell};
  memset(info, 0, sizeof(*info));
  SNDFILE* const file = sf_open_virtual(&io, SFM_READ, info, memory);
  assert_non_null(file);
  return file;
}

/* What each encoding has to be. */

typedef struct {
  VwEncoding encoding;
  unsigned   tag;
  unsigned   bits;
  unsigned   fmt_bytes;
  size_t     data_at;
  int        subtype;
} Expected;

// Tags and sizes: Microsoft, "New Multimedia Data Types and Data Techniques"
// 3.0, 1994. 12 of RIFF, 8 + 16 of fmt, 8 of data; float: 2 more, 12 of fact.
static const Expected expecteds[] = {
  {VW_ENCODING_U8, 1, 8, 16, 44, SF_FORMAT_PCM_U8},
  {VW_ENCODING_S16, 1, 16, 16, 44, SF_FORMAT_PCM_16},
  {VW_ENCODING_S24, 1, 24, 16, 44, SF_FORMAT_PCM_24},
  {VW_ENCODING_FLOAT, 3, 32, 18, 58, SF_FORMAT_FLOAT},
};

typedef struct {
  const Expected* expected;
  size_t          n_frames;
  unsigned        n_channels;
  unsigned        rate_hz;
  bool            has_loop;
} Case;

static VwSound
new_sound(const Case* a_case) {
  VwSound sound = {NULL, 0, 0, 0};
  assert_int_equal(
    vw_sound_init(
      &sound, a_case->n_frames, a_case->n_channels, a_case->rate_hz),
    VW_OK);
  for (size_t i = 0; i < sound.n_frames * sound.n_channels; ++i) {
    sound.values[i] = (float)(0.9 * sin(0.7 * (double)i + 0.3));
  }
  return sound;
}

static VwBytes
encode(const VwSound* sound, const Case* a_case) {
  const VwPiece  piece = {.sound = *sound,
                          .has_loop = a_case->has_loop,
                          .loop_start = 3,
                          .loop_end = sound->n_frames - 2};
  const VwFormat format = {.encoding = a_case->expected->encoding,
                           .dither = VW_DITHER_NONE};
  VwBytes        bytes = {NULL, 0};
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  return bytes;
}

// Frames in the file: one more where the bytes would be odd.
static size_t
even_frames(const Case* a_case) {
  const size_t n_bytes =
    a_case->n_frames * a_case->n_channels * a_case->expected->bits / 8;
  return a_case->n_frames + n_bytes % 2;
}

static uint32_t
little_endian(const unsigned char* at) {
  return at[0] | (uint32_t)at[1] << 8U | (uint32_t)at[2] << 16U |
         (uint32_t)at[3] << 24U;
}

// Field by field after the source above; the period in whole nanoseconds.
static bool
check_smpl(const VwBytes* bytes, const Riff* riff, const Case* a_case) {
  const unsigned char* const chunk =
    bytes->data + riff->data_at + riff->data_bytes;
  const uint32_t fields[] = {
    60,
    0,
    0,
    1000000000U / a_case->rate_hz,
    60,
    0,
    0,
    0,
    1,
    0,
    0,
    0,
    3,
    (uint32_t)a_case->n_frames - 2U - 1U,
    0,
    0,
  };
  bool ok = check_that(!memcmp(chunk, "smpl", 4), "smpl follows the data");
  for (size_t i = 0; i < sizeof(fields) / sizeof(fields[0]); ++i) {
    ok &= check_equal(
      little_endian(chunk + 4 + 4 * i), fields[i], "smpl field %zu", i);
  }
  return ok & check_equal((double)(chunk + 68 - bytes->data),
                          (double)bytes->n_bytes,
                          "smpl ends the file");
}

static bool
check_parsed(const VwBytes* bytes, const Riff* riff, const Case* a_case) {
  const Expected* const expected = a_case->expected;
  bool ok = check_equal(riff->tag, expected->tag, "format tag");
  ok &= check_equal(riff->bits, expected->bits, "bits");
  ok &= check_equal(riff->fmt_bytes, expected->fmt_bytes, "format's bytes");
  ok &= check_equal((double)riff->data_at, (double)expected->data_at, "start");
  ok &= check_equal(riff->n_channels, a_case->n_channels, "channels");
  ok &= check_equal(riff->rate_hz, a_case->rate_hz, "sample rate");
  ok &= check_equal((double)(riff->data_bytes % 2), 0.0, "odd bytes");
  const size_t n_frames = even_frames(a_case);
  ok &= check_equal((double)riff->data_bytes,
                    (double)(n_frames * riff->block_bytes),
                    "data's bytes");
  if (expected->tag == 3) {
    ok &= check_equal((double)riff->fact_frames, (double)n_frames, "fact");
  }
  ok &= check_equal(
    riff->n_chunks, 2.0 + (expected->tag == 3) + a_case->has_loop, "chunks");
  ok &= check_equal(riff->has_loop, a_case->has_loop, "has a loop");
  return a_case->has_loop ? ok & check_smpl(bytes, riff, a_case) : ok;
}

static bool
check_general(const VwBytes* bytes, const VwSound* own, const Case* a_case) {
  Memory         memory = {bytes, 0};
  SF_INFO        info;
  SNDFILE* const file = open_memory(&memory, &info);
  bool ok = check_equal((double)info.frames, (double)own->n_frames, "frames");
  ok &= check_equal(info.channels, a_case->n_channels, "channels");
  ok &= check_equal(info.samplerate, a_case->rate_hz, "sample rate");
  ok &= check_equal(
    info.format, SF_FORMAT_WAV | a_case->expected->subtype, "format");
  SF_INSTRUMENT instrument = {0};
  const int     has_loop =
    sf_command(file, SFC_GET_INSTRUMENT, &instrument, sizeof(instrument));
  ok &= check_equal(has_loop, a_case->has_loop, "reader's loop");
  if (has_loop) {
    ok &= check_equal(instrument.loop_count, 1, "reader's loops");
    ok &= check_equal(instrument.loops[0].start, 3, "reader's loop start");
    // This reader counts to one past the last frame.
    ok &= check_equal(instrument.loops[0].end,
                      (double)a_case->n_frames - 2.0,
                      "reader's loop end");
    ok &= check_equal(instrument.loops[0].count, 0, "reader's play count");
  }
  const size_t n_values = own->n_frames * own->n_channels;
  float* const values = calloc(n_values + 1, sizeof(float));
  assert_non_null(values);
  ok &= check_equal((double)sf_read_float(file, values, (sf_count_t)n_values),
                    (double)n_values,
                    "values read");
  for (size_t i = 0; i < n_values; ++i) {
    ok &= check_equal((double)values[i], (double)own->values[i], "at %zu", i);
  }
  free(values);
  sf_close(file);
  return ok;
}

// Half a step from what was meant, and silence where a frame was added.
static bool
check_values(const VwSound* meant, const VwSound* own, const Case* a_case) {
  const unsigned bits = a_case->expected->bits;
  const double   bound = bits == 32 ? 0.0 : ldexp(0.5, 1 - (int)bits);
  const size_t   n_meant = meant->n_frames * meant->n_channels;
  bool           ok = true;
  for (size_t i = 0; i < own->n_frames * own->n_channels; ++i) {
    const double value = i < n_meant ? (double)meant->values[i] : 0.0;
    ok &= check_at_most(fabs((double)own->values[i] - value),
                        i < n_meant ? bound : 0.0,
                        "value %zu off",
                        i);
  }
  return ok;
}

static bool
check_case(const Case* a_case) {
  VwSound meant = new_sound(a_case);
  VwBytes bytes = encode(&meant, a_case);
  Riff    riff;
  bool    ok = check_that(riff_parse(&bytes, &riff), "parsed");
  if (ok) {
    VwSound own = riff_sound(&riff, &bytes);
    ok &= check_parsed(&bytes, &riff, a_case);
    ok &= check_general(&bytes, &own, a_case);
    ok &= check_values(&meant, &own, a_case);
    vw_sound_clear(&own);
  }
  vw_bytes_clear(&bytes);
  vw_sound_clear(&meant);
  return check_that(ok,
                    "%u bits, %u channels, %zu frames, %u Hz, loop %d",
                    a_case->expected->bits,
                    a_case->n_channels,
                    a_case->n_frames,
                    a_case->rate_hz,
                    a_case->has_loop);
}

static void
test_cases(void** state) {
  (void)state;
  static const size_t   lengths[] = {0, 1, 2, 99, 100};
  static const unsigned rates[] = {8000, 22050, 44100};

  bool ok = true;
  for (size_t i = 0; i < sizeof(expecteds) / sizeof(expecteds[0]); ++i) {
    for (unsigned j = 0; j < 5 * 2 * 2; ++j) {
      const Case a_case = {&expecteds[i],
                           lengths[j % 5],
                           1 + j / 5 % 2,
                           rates[j % 3],
                           j / 10 == 1 && lengths[j % 5] > 5};
      ok &= check_case(&a_case);
    }
  }
  assert_true(ok);
}

/* Codes. */

static int32_t
code_of(VwEncoding encoding, float value) {
  // Both frames are the value: with one, 8 bits would get a second of silence.
  float          values[] = {value, value};
  const VwPiece  piece = {.sound = {values, 2, 1, 44100}};
  const VwFormat format = {.encoding = encoding, .dither = VW_DITHER_NONE};
  VwBytes        bytes = {NULL, 0};
  Riff           riff;
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  assert_true(riff_parse(&bytes, &riff));
  const int32_t code = riff_code(&riff, &bytes, 0);
  assert_int_equal(riff_code(&riff, &bytes, 1), code);
  vw_bytes_clear(&bytes);
  return code;
}

// Full scale is 2^(bits - 1), and what exceeds it is held (closed form); 8 bits
// are unsigned with silence at 128 (Microsoft, as above).
static void
test_codes(void** state) {
  (void)state;
  static const struct {
    float   value;
    int32_t u8, s16, s24;
  } cases[] = {
    {0.0F, 128, 0, 0},
    {-0.0F, 128, 0, 0},
    {0.5F, 192, 16384, 4194304},
    {-0.5F, 64, -16384, -4194304},
    {0.25F / 128.0F, 128, 64, 16384},
    {0.75F / 128.0F, 129, 192, 49152},
    {127.0F / 128.0F, 255, 32512, 8323072},
    {1.0F, 255, 32767, 8388607},
    {-1.0F, 0, -32768, -8388608},
    {2.0F, 255, 32767, 8388607},
    {-2.0F, 0, -32768, -8388608},
    {1e30F, 255, 32767, 8388607},
    {-1e30F, 0, -32768, -8388608},
    {INFINITY, 255, 32767, 8388607},
    {-INFINITY, 0, -32768, -8388608},
    {NAN, 0, -32768, -8388608},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const float x = cases[i].value;
    ok &= check_equal(code_of(VW_ENCODING_U8, x), cases[i].u8, "8: %zu", i);
    ok &= check_equal(code_of(VW_ENCODING_S16, x), cases[i].s16, "16: %zu", i);
    ok &= check_equal(code_of(VW_ENCODING_S24, x), cases[i].s24, "24: %zu", i);
  }
  assert_true(ok);
}

static void
test_float_is_kept(void** state) {
  (void)state;
  float          values[] = {3.5F, -1e-30F, -0.0F, 1.0F / 3.0F};
  const VwPiece  piece = {.sound = {values, 4, 1, 44100}};
  const VwFormat format = {.encoding = VW_ENCODING_FLOAT};
  VwBytes        bytes = {NULL, 0};
  Riff           riff;
  assert_int_equal(vw_encode_wav(&piece, &format, 1, &bytes), VW_OK);
  assert_true(riff_parse(&bytes, &riff));
  VwSound own = riff_sound(&riff, &bytes);
  assert_memory_equal(own.values, values, sizeof(values));
  vw_sound_clear(&own);
  vw_bytes_clear(&bytes);
}

/* Refused. */

static void
test_refused(void** state) {
  (void)state;
  float         value = 0.0F;
  const VwPiece small = {.sound = {&value, 1, 1, 44100}};
  // Not read, so that they need not be there: 2^30 + 1 floats, and a product
  // that wraps round.
  const VwPiece  large = {.sound = {&value, ((size_t)1 << 30U) + 1, 1, 44100}};
  const VwPiece  vast = {.sound = {&value, SIZE_MAX / 4 + 2, 1, 44100}};
  const VwFormat none = {.encoding = (VwEncoding)4};
  const VwFormat format = {.encoding = VW_ENCODING_FLOAT};
  VwBytes        bytes = {NULL, 77};
  assert_int_equal(vw_encode_wav(&small, &none, 1, &bytes), VW_BAD_OPTION);
  assert_int_equal(vw_encode_wav(&large, &format, 1, &bytes), VW_BAD_OPTION);
  assert_int_equal(vw_encode_wav(&vast, &format, 1, &bytes), VW_BAD_OPTION);
  assert_int_equal(bytes.n_bytes, 77);
  vw_bytes_clear(NULL);
}

int
main(void) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_cases),
    cmocka_unit_test(test_codes),
    cmocka_unit_test(test_float_is_kept),
    cmocka_unit_test(test_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
