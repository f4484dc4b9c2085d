// Containers: the same codes in each of them, read back by readers that share
// nothing with the library, and source text by a compiler.

#include "base/status.h"
#include "container/container.h"
#include "support/check.h"
#include "support/folder.h"
#include "support/riff.h"
#include "support/signals.h"

#include "volleyweave/volleyweave.h"

#include <sndfile.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// The compiler that builds the project, as the shell calls it.
static const char* compiler;

#define SEED 5

static VwSound
new_sound(size_t n_frames, unsigned n_channels, unsigned rate_hz) {
  VwSound      sound = {NULL, 0, 0, 0};
  SignalRandom random = signal_random(n_frames);
  assert_int_equal(vw_sound_init(&sound, n_frames, n_channels, rate_hz), VW_OK);
  for (size_t i = 0; i < n_frames * n_channels; ++i) {
    const double slow = sin((double)i * 0.05 / n_channels);
    sound.values[i] = (float)(1.2 * slow * signal_uniform(&random));
  }
  return sound;
}

static VwWrapping
wrapping_of(VwContainer container, VwEncoding encoding) {
  return (VwWrapping){.container = container,
                      .format = {.encoding = encoding},
                      .name = "x",
                      .seed = SEED};
}

static VwBytes
encode(const VwPiece* piece, VwContainer container, VwEncoding encoding) {
  const VwWrapping wrapping = wrapping_of(container, encoding);
  VwBytes          bytes = {NULL, 0};
  assert_int_equal(vw_encode(piece, &wrapping, &bytes), VW_OK);
  return bytes;
}

/* WAV. */

static void
test_wav(void** state) {
  (void)state;
  VwSound       sound = new_sound(99, 1, 8000);
  const VwPiece piece = {
    .sound = sound, .has_loop = true, .loop_start = 10, .loop_end = 90};
  VwPiece        plain = piece;
  VwWrapping     wrapping = wrapping_of(VW_CONTAINER_WAV, VW_ENCODING_S16);
  const VwPiece* expected[] = {&plain, &piece};
  plain.has_loop = false;
  for (int i = 0; i < 2; ++i) {
    VwBytes own = {NULL, 0};
    VwBytes bytes = {NULL, 0};
    wrapping.loop_points = i;
    assert_int_equal(vw_encode(&piece, &wrapping, &bytes), VW_OK);
    assert_int_equal(vw_encode_wav(expected[i], &wrapping.format, SEED, &own),
                     VW_OK);
    assert_int_equal(bytes.n_bytes, own.n_bytes);
    assert_memory_equal(bytes.data, own.data, own.n_bytes);
    vw_bytes_clear(&own);
    vw_bytes_clear(&bytes);
  }
  vw_sound_clear(&sound);
}

// Nothing of a float file but its values changes from run to run or day to day:
// three chunks and no more (12 of RIFF, 26 of fmt, 12 of fact, 8 of data).
static void
test_float_wav_is_plain(void** state) {
  (void)state;
  VwSound       sound = new_sound(50, 2, 48000);
  const VwPiece piece = {.sound = sound};
  VwBytes       bytes = encode(&piece, VW_CONTAINER_WAV, VW_ENCODING_FLOAT);
  Riff          riff;
  assert_true(riff_parse(&bytes, &riff));
  assert_int_equal(riff.n_chunks, 3);
  assert_int_equal(riff.data_at, 58);
  assert_int_equal(bytes.n_bytes, 58 + 50 * 2 * 4);
  vw_bytes_clear(&bytes);
  vw_sound_clear(&sound);
}

/* Raw and FLAC. */

static const VwEncoding encodings[] = {VW_ENCODING_U8,
                                       VW_ENCODING_S16,
                                       VW_ENCODING_S24,
                                       VW_ENCODING_FLOAT};

// The bytes of the data chunk, without the frame that makes them even.
static bool
check_raw(const VwPiece* piece, VwEncoding encoding) {
  VwBytes raw = encode(piece, VW_CONTAINER_RAW, encoding);
  VwBytes wav = encode(piece, VW_CONTAINER_WAV, encoding);
  Riff    riff;
  assert_true(riff_parse(&wav, &riff));
  const size_t n = piece->sound.n_frames * riff.block_bytes;
  const bool   ok =
    check_equal((double)raw.n_bytes, (double)n, "bytes") &&
    check_that(!memcmp(raw.data, wav.data + riff.data_at, n), "codes differ");
  vw_bytes_clear(&raw);
  vw_bytes_clear(&wav);
  return check_that(ok, "raw, %s", vw_encoding_name(encoding));
}

static void
test_raw(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < 4; ++i) {
    VwSound       mono = new_sound(101, 1, 8000);
    VwSound       stereo = new_sound(64, 2, 8000);
    const VwPiece pieces[] = {{.sound = mono}, {.sound = stereo}};
    ok &= check_raw(&pieces[0], encodings[i]);
    ok &= check_raw(&pieces[1], encodings[i]);
    vw_sound_clear(&mono);
    vw_sound_clear(&stereo);
  }
  assert_true(ok);
}

// Read by a general reader as integers of 32 bits, of which codes are the upper
// ones.
static bool
check_flac(const VwPiece* piece, VwEncoding encoding) {
  const VwSound* const sound = &piece->sound;
  const size_t         n_values = sound->n_frames * sound->n_channels;
  VwBytes              flac = encode(piece, VW_CONTAINER_FLAC, encoding);
  VwBytes              wav = encode(piece, VW_CONTAINER_WAV, encoding);
  const int            scale = encoding == VW_ENCODING_S16 ? 65536 : 256;
  Riff                 riff;
  SF_INFO              info = {0};
  assert_true(riff_parse(&wav, &riff));
  folder_put("x.flac", flac.data, flac.n_bytes);
  SNDFILE* const file = sf_open("x.flac", SFM_READ, &info);
  int* const     values = calloc(n_values + 2, sizeof(int));
  assert_true(file && values);
  bool ok = check_equal((double)info.frames, (double)sound->n_frames, "frames");
  ok &= check_equal(info.samplerate, sound->rate_hz, "sample rate");
  ok &= check_equal(info.channels, sound->n_channels, "channels");
  ok &= check_equal(info.format,
                    SF_FORMAT_FLAC |
                      (scale == 256 ? SF_FORMAT_PCM_24 : SF_FORMAT_PCM_16),
                    "format");
  ok &= check_equal((double)sf_readf_int(file, values, info.frames + 1),
                    (double)sound->n_frames,
                    "values");
  for (size_t i = 0; i < n_values; ++i) {
    ok &=
      check_equal(values[i] / scale, riff_code(&riff, &wav, i), "code %zu", i);
  }
  sf_close(file);
  free(values);
  vw_bytes_clear(&flac);
  vw_bytes_clear(&wav);
  return ok;
}

static void
test_flac(void** state) {
  (void)state;
  static const size_t   lengths[] = {1, 17, 4096, 10001};
  static const unsigned rates[] = {8000, 22050, 44100, 96000};

  bool ok = true;
  for (unsigned i = 0; i < 16; ++i) {
    VwSound sound = new_sound(lengths[i % 4], 1 + i / 4 % 2, rates[i % 4]);
    const VwPiece piece = {.sound = sound};
    ok &= check_that(check_flac(&piece, encodings[1 + i / 8]), "case %u", i);
    vw_sound_clear(&sound);
  }
  assert_true(ok);
}

/* Ogg. */

static VwSound
read_ogg(const VwBytes* bytes) {
  const VwReadOptions options = vw_read_defaults();
  VwSound             sound = {NULL, 0, 0, 0};
  folder_put("x.ogg", bytes->data, bytes->n_bytes);
  assert_int_equal(vw_read("x.ogg", &options, &sound, NULL), VW_OK);
  return sound;
}

// A tone, which any lossy coder keeps: 26 dB are 5 % of it (simulated here).
static bool
check_ogg(unsigned rate_hz, unsigned n_channels, size_t n_frames) {
  VwSound sound = {NULL, 0, 0, 0};
  assert_int_equal(vw_sound_init(&sound, n_frames, n_channels, rate_hz), VW_OK);
  signal_add_tone(&sound, 440.0, 0.5, 0.0);
  const VwPiece piece = {.sound = sound};
  VwBytes       bytes = encode(&piece, VW_CONTAINER_OGG, VW_ENCODING_S16);
  VwSound       heard = read_ogg(&bytes);
  bool ok = check_equal((double)heard.n_frames, (double)n_frames, "frames");
  ok &= check_equal(heard.n_channels, n_channels, "channels");
  ok &= check_equal(heard.rate_hz, rate_hz, "sample rate");
  double signal = 0.0;
  double noise = 0.0;
  for (size_t i = 0; ok && i < n_frames * n_channels; ++i) {
    const double value = (double)sound.values[i];
    signal += value * value;
    noise += pow((double)heard.values[i] - value, 2.0);
  }
  ok &= check_at_least(10.0 * log10(signal / noise), 26.0, "signal to noise");
  vw_bytes_clear(&bytes);
  vw_sound_clear(&heard);
  vw_sound_clear(&sound);
  return check_that(ok, "%u Hz, %u channels", rate_hz, n_channels);
}

static void
test_ogg(void** state) {
  (void)state;
  static const unsigned rates[] = {8000, 11025, 16000, 22050, 44100, 48000};

  bool ok = true;
  for (unsigned i = 0; i < 12; ++i) {
    ok &= check_ogg(rates[i % 6], 1 + i / 6, 5000 + 9973 * i);
  }
  assert_true(ok);
}

// Vorbis at the quality of 0.6 (common practice): as many bytes as the library
// that encodes makes when asked for that by itself.
static void
test_ogg_quality(void** state) {
  (void)state;
  VwSound       sound = new_sound(30000, 1, 44100);
  const VwPiece piece = {.sound = sound};
  VwBytes       bytes = encode(&piece, VW_CONTAINER_OGG, VW_ENCODING_S16);
  SF_INFO       info = {.samplerate = 44100,
                        .channels = 1,
                        .format = SF_FORMAT_OGG | SF_FORMAT_VORBIS};
  SNDFILE*      file = sf_open("plain.ogg", SFM_WRITE, &info);
  double        quality = 0.6;
  assert_non_null(file);
  sf_command(
    file, SFC_SET_VBR_ENCODING_QUALITY, &quality, (int)sizeof(quality));
  assert_int_equal(sf_writef_float(file, sound.values, 30000), 30000);
  sf_close(file);
  size_t n_plain = 0;
  free(folder_get("plain.ogg", &n_plain));
  assert_true(check_at_most(
    fabs((double)bytes.n_bytes / (double)n_plain - 1.0), 0.02, "bytes"));
  vw_bytes_clear(&bytes);
  vw_sound_clear(&sound);
}

// The same bytes from run to run, another number for another sound: its place
// is that of RFC 3533.
static void
test_ogg_is_the_same(void** state) {
  (void)state;
  VwSound       sound = new_sound(30000, 1, 44100);
  VwSound       other = new_sound(30001, 1, 44100);
  const VwPiece piece = {.sound = sound};
  const VwPiece another = {.sound = other};
  VwBytes       a = encode(&piece, VW_CONTAINER_OGG, VW_ENCODING_S16);
  VwBytes       b = encode(&piece, VW_CONTAINER_OGG, VW_ENCODING_S16);
  VwBytes       c = encode(&another, VW_CONTAINER_OGG, VW_ENCODING_S16);
  assert_int_equal(a.n_bytes, b.n_bytes);
  assert_memory_equal(a.data, b.data, a.n_bytes);
  assert_memory_not_equal(a.data + 14, c.data + 14, 4);
  vw_bytes_clear(&a);
  vw_bytes_clear(&b);
  vw_bytes_clear(&c);
  vw_sound_clear(&sound);
  vw_sound_clear(&other);
}

// A loop of two tones, of whole blocks, is coded as it repeats: its seam does
// not bend more sharply than what is within (the bound), and nothing is padded.
static bool
check_ogg_loop(unsigned rate_hz, double first, double second) {
  const size_t n = 40960;
  const double per_hz = (double)rate_hz / (double)n;
  VwSound      sound = {NULL, 0, 0, 0};
  assert_int_equal(vw_sound_init(&sound, n, 1, rate_hz), VW_OK);
  signal_add_tone(&sound, floor(first / per_hz) * per_hz, 0.4, 0.3);
  signal_add_tone(&sound, floor(second / per_hz) * per_hz, 0.3, 1.0);
  const VwPiece piece = {.part = VW_PART_LOOP, .sound = sound};
  VwBytes       bytes = encode(&piece, VW_CONTAINER_OGG, VW_ENCODING_S16);
  VwSound       heard = read_ogg(&bytes);
  bool          ok = check_equal((double)heard.n_frames, (double)n, "frames");
  double        within = 0.0;
  double        seam = 0.0;
  double        noise = 0.0;
  double        signal = 0.0;
  for (size_t i = 0; ok && i < n; ++i) {
    const double  a = (double)heard.values[i];
    const double  b = (double)heard.values[(i + 1) % n];
    const double  c = (double)heard.values[(i + 2) % n];
    double* const most = i + 2 < n ? &within : &seam;
    *most = fmax(*most, fabs(a - 2.0 * b + c));
    noise += pow(a - (double)sound.values[i], 2.0);
    signal += pow((double)sound.values[i], 2.0);
  }
  ok &= check_at_most(seam / within, 1.05, "bend over the seam");
  ok &= check_at_least(10.0 * log10(signal / noise), 26.0, "signal to noise");
  ok &= check_that(vw_ogg_is_whole(&bytes), "whole blocks");
  vw_bytes_clear(&bytes);
  vw_sound_clear(&heard);
  vw_sound_clear(&sound);
  return check_that(ok, "%u Hz, %.0f and %.0f Hz", rate_hz, first, second);
}

static void
test_ogg_loop(void** state) {
  (void)state;
  bool ok = check_ogg_loop(44100, 88.5, 133.0);
  ok &= check_ogg_loop(44100, 421.0, 650.0);
  ok &= check_ogg_loop(44100, 214.0, 642.0);
  ok &= check_ogg_loop(22050, 150.0, 333.0);
  assert_true(ok);
}

/* C. */

// Prints the codes in the order of the file's bytes; the text is there twice,
// and twice more under another name, to be sure that nothing clashes.
static const char program_head[] = "#include \"x.h\"\n"
                                   "#include \"x.h\"\n"
                                   "#include \"y.h\"\n"
                                   "#include <stdio.h>\n";

/// What a text's constants have to be.
typedef struct {
  const char* name; ///< As given.
  const char* small;
  const char* large;
  bool        has_loop;
  VwPart      part;
  VwEncoding  encoding;
} Text;

static void
write_program(const Text* text, unsigned n_bytes) {
  FILE* const to = fopen("main.c", "w");
  assert_non_null(to);
  fputs(program_head, to);
  if (text->has_loop || text->part == VW_PART_LOOP) {
    fprintf(to,
            "#define LOOP_START %s_LOOP_START\n#define LOOP_END %s_LOOP_END\n",
            text->large,
            text->large);
  } else {
    fprintf(to,
            "#ifdef %s_LOOP_START\n#error no loop\n#endif\n"
            "#define LOOP_START 0UL\n#define LOOP_END 0UL\n",
            text->large);
  }
  fprintf(to,
          "int main(void) {\n"
          "  printf(\"%%lu %%u %%lu %%lu %%lu\\n\", %s_FRAMES, %s_CHANNELS,\n"
          "         %s_SAMPLE_RATE_HZ, LOOP_START, LOOP_END);\n"
          "  for (uint32_t i = 0; i < %s_FRAMES * %s_CHANNELS; ++i) {\n"
          "    for (uint32_t j = 0; j < %uU; ++j) {\n"
          "      putchar((int)((uint32_t)%s[i] >> (8U * j) & 0xFFU));\n"
          "    }\n"
          "  }\n"
          "  return sizeof(%s) != %s_FRAMES * %s_CHANNELS * sizeof(%s[0]) ||\n"
          "         sound_y[0] == sound_y[1];\n"
          "}\n",
          text->large,
          text->large,
          text->large,
          text->large,
          text->large,
          n_bytes,
          text->small,
          text->small,
          text->large,
          text->large,
          text->small);
  assert_int_equal(fclose(to), 0);
}

static void
write_text(const char*    path,
           const char*    name,
           const VwPiece* piece,
           VwEncoding     encoding) {
  VwWrapping wrapping = wrapping_of(VW_CONTAINER_C_ARRAY, encoding);
  VwBytes    bytes = {NULL, 0};
  wrapping.name = name;
  assert_int_equal(vw_encode(piece, &wrapping, &bytes), VW_OK);
  folder_put(path, bytes.data, bytes.n_bytes);
  vw_bytes_clear(&bytes);
}

static bool
compile_and_run(void) {
  char command[1024];
  snprintf(command,
           sizeof(command),
           "%s -std=c11 -Wall -Wextra -Wpedantic -Wconversion -Werror "
           "-o main main.c && ./main > out",
           compiler);
  return !system(command);
}

static bool
check_output(const VwPiece* piece, VwEncoding encoding) {
  char         line[128];
  size_t       n_bytes = 0;
  char* const  out = folder_get("out", &n_bytes);
  VwBytes      raw = encode(piece, VW_CONTAINER_RAW, encoding);
  const bool   whole = piece->part == VW_PART_LOOP && !piece->has_loop;
  const size_t end = whole ? piece->sound.n_frames : piece->loop_end;
  const int    n = snprintf(line,
                         sizeof(line),
                         "%zu %u %u %zu %zu\n",
                         piece->sound.n_frames,
                         piece->sound.n_channels,
                         piece->sound.rate_hz,
                         whole ? 0 : piece->loop_start,
                         end);
  assert_non_null(out);
  const bool ok =
    check_equal((double)n_bytes, (double)(raw.n_bytes + (size_t)n), "bytes") &&
    check_that(!memcmp(out, line, (size_t)n), "%s, not %s", out, line) &&
    check_that(!memcmp(out + n, raw.data, raw.n_bytes), "codes differ");
  vw_bytes_clear(&raw);
  free(out);
  return ok;
}

static bool
check_text(const Text* text) {
  static const unsigned n_bytes[] = {1, 2, 3};

  VwSound       sound = new_sound(100, 1 + (unsigned)text->encoding % 2, 22050);
  VwSound       two = new_sound(2, 1, 8000);
  const VwPiece piece = {.part = text->part,
                         .sound = sound,
                         .has_loop = text->has_loop,
                         .loop_start = text->has_loop ? 20 : 0,
                         .loop_end = text->has_loop ? 80 : 0};
  const VwPiece other = {.sound = two};
  write_text("x.h", text->name, &piece, text->encoding);
  write_text("y.h", "y", &other, VW_ENCODING_S16);
  write_program(text, n_bytes[text->encoding]);
  const bool ok = check_that(compile_and_run(), "compile and run") &&
                  check_output(&piece, text->encoding);
  vw_sound_clear(&sound);
  vw_sound_clear(&two);
  return check_that(ok, "\"%s\"", text->name);
}

static void
test_c_array(void** state) {
  (void)state;
  static const Text texts[] = {
    {"zap", "sound_zap", "SOUND_ZAP", false, VW_PART_SHOT, VW_ENCODING_U8},
    {"01.Fog-Knapper.loop",
     "sound_01_Fog_Knapper_loop",
     "SOUND_01_FOG_KNAPPER_LOOP",
     true,
     VW_PART_LOOP,
     VW_ENCODING_S16},
    {"while",
     "sound_while",
     "SOUND_WHILE",
     false,
     VW_PART_LOOP,
     VW_ENCODING_S24},
    {"", "sound_", "SOUND_", true, VW_PART_BURST, VW_ENCODING_U8},
    {"n\u00E4h */ \"\\",
     "sound_n__h______",
     "SOUND_N__H______",
     false,
     VW_PART_RUN_IN,
     VW_ENCODING_S16},
    {"a-name-of-more-letters-than-any-compiler-must-tell-apart",
     "sound_a_name_of_more_letters_than_any_compiler",
     "SOUND_A_NAME_OF_MORE_LETTERS_THAN_ANY_COMPILER",
     false,
     VW_PART_SHOT,
     VW_ENCODING_U8},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    ok &= check_text(&texts[i]);
  }
  assert_true(ok);
}

// A board keeps constants where its compiler is told to.
static void
test_c_array_has_a_place(void** state) {
  (void)state;
  static const char source[] =
    "#define VOLLEYWEAVE_PLACE __attribute__((section(\"sounds\")))\n"
    "#include \"x.h\"\n"
    "int main(void) { return sound_x[0] != 255; }\n";

  float         value = 1.0F;
  const VwPiece piece = {.sound = {&value, 1, 1, 8000}};
  write_text("x.h", "x", &piece, VW_ENCODING_U8);
  folder_put("main.c", source, sizeof(source) - 1U);
  assert_true(compile_and_run());
}

/* Refused. */

static void
test_refused(void** state) {
  (void)state;
  static const struct {
    VwContainer container;
    VwEncoding  encoding;
    size_t      n_frames;
    VwStatus    status;
  } cases[] = {
    {VW_CONTAINER_FLAC, VW_ENCODING_U8, 1, VW_NOT_CARRIED},
    {VW_CONTAINER_FLAC, VW_ENCODING_FLOAT, 1, VW_NOT_CARRIED},
    {VW_CONTAINER_C_ARRAY, VW_ENCODING_FLOAT, 1, VW_NOT_CARRIED},
    {VW_CONTAINER_C_ARRAY, VW_ENCODING_U8, 0, VW_NO_FRAMES},
    {(VwContainer)5, VW_ENCODING_S16, 1, VW_BAD_OPTION},
    {VW_CONTAINER_RAW, (VwEncoding)4, 1, VW_BAD_OPTION},
    // Not read, so that it need not be there.
    {VW_CONTAINER_RAW, VW_ENCODING_S16, SIZE_MAX / 2 + 1, VW_BAD_OPTION},
  };

  float value = 0.0F;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    const VwPiece    piece = {.sound = {&value, cases[i].n_frames, 1, 44100}};
    const VwWrapping wrapping =
      wrapping_of(cases[i].container, cases[i].encoding);
    VwBytes bytes = {NULL, 77};
    assert_int_equal(vw_encode(&piece, &wrapping, &bytes), cases[i].status);
    assert_int_equal(bytes.n_bytes, 77);
    assert_null(bytes.data);
  }
}

/* Names. */

static void
test_promises(void** state) {
  (void)state;
  static const struct {
    const char* name;
    VwPromise   promise;
  } cases[] = {
    {"a.wav", VW_PROMISE_SOUND},
    {"d.h/a.FLAC", VW_PROMISE_SOUND},
    {"a.wav.mp3", VW_PROMISE_SOUND},
    {"a.raw", VW_PROMISE_CODES},
    {"a.mid", VW_PROMISE_CODES},
    {"a.h", VW_PROMISE_SOURCE},
    {"a.txt", VW_PROMISE_NOTHING},
    {"wav", VW_PROMISE_NOTHING},
    {"a.wav/b", VW_PROMISE_NOTHING},
    {"", VW_PROMISE_NOTHING},
  };

  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_equal((double)vw_name_promises(cases[i].name),
                      (double)cases[i].promise,
                      "%s",
                      cases[i].name);
  }
  assert_true(ok);
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_promises),
    cmocka_unit_test(test_wav),
    cmocka_unit_test(test_float_wav_is_plain),
    cmocka_unit_test(test_raw),
    cmocka_unit_test_setup_teardown(test_flac, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(test_ogg, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(
      test_ogg_quality, folder_enter, folder_leave),
    cmocka_unit_test(test_ogg_is_the_same),
    cmocka_unit_test_setup_teardown(test_ogg_loop, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(test_c_array, folder_enter, folder_leave),
    cmocka_unit_test_setup_teardown(
      test_c_array_has_a_place, folder_enter, folder_leave),
    cmocka_unit_test(test_refused),
  };
  assert_true(argc > 1);
  compiler = argv[1];
  return cmocka_run_group_tests(tests, NULL, NULL);
}
