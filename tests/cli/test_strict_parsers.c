// Three readers as small boards have them, written here, on files that the
// program writes in every plain format: each reads what the file is meant to
// hold. Fields: Microsoft and IBM, "Multimedia Programming Interface and Data
// Specifications" 1.0, 1991; that small readers are so strict is common
// practice.

#include "support/check.h"
#include "support/run.h"
#include "support/wav_files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/// What a reader makes of a file.
typedef struct {
  unsigned rate_hz;
  unsigned n_channels;
  unsigned bits;
  size_t   data_at;
  size_t   data_bytes;
} Heard;

static uint32_t
number(const char* bytes, size_t at, unsigned n_bytes) {
  uint32_t value = 0;
  for (unsigned i = n_bytes; i-- > 0;) {
    value = value << 8U | (unsigned char)bytes[at + i];
  }
  return value;
}

/// Takes all to be where it is in the plainest of files, and plays to the end
/// that byte 40 tells.
static bool
read_fixed(const char* bytes, size_t n_bytes, Heard* heard) {
  if (n_bytes < 44U || memcmp(bytes + 36, "data", 4) != 0) {
    return false;
  }
  *heard = (Heard){.rate_hz = number(bytes, 24, 4),
                   .n_channels = number(bytes, 22, 2),
                   .bits = number(bytes, 34, 2),
                   .data_at = 44U,
                   .data_bytes = number(bytes, 40, 4)};
  return heard->data_at + heard->data_bytes <= n_bytes;
}

/// Refuses what has another tag than 1 or another size of format than 16, an
/// odd length, and bytes that do not fit the frames.
static bool
read_fussy(const char* bytes, size_t n_bytes, Heard* heard) {
  const bool plain = n_bytes >= 44U && !memcmp(bytes, "RIFF", 4) &&
                     !memcmp(bytes + 8, "WAVEfmt ", 8) &&
                     number(bytes, 16, 4) == 16U && number(bytes, 20, 2) == 1U;
  if (!plain || !read_fixed(bytes, n_bytes, heard)) {
    return false;
  }
  const unsigned block = number(bytes, 32, 2);
  return block == heard->n_channels * heard->bits / 8U &&
         number(bytes, 28, 4) == block * heard->rate_hz &&
         heard->data_bytes % 2U == 0U && heard->data_bytes % block == 0U &&
         number(bytes, 4, 4) + 8U == n_bytes;
}

/// Walks from chunk to chunk, by their sizes rounded up, to the file's end.
static bool
read_walking(const char* bytes, size_t n_bytes, Heard* heard) {
  size_t at = 12;
  *heard = (Heard){0};
  while (at + 8U <= n_bytes) {
    const uint32_t size = number(bytes, at + 4U, 4);
    if (!memcmp(bytes + at, "fmt ", 4)) {
      heard->n_channels = number(bytes, at + 10U, 2);
      heard->rate_hz = number(bytes, at + 12U, 4);
      heard->bits = number(bytes, at + 22U, 2);
    } else if (!memcmp(bytes + at, "data", 4)) {
      heard->data_at = at + 8U;
      heard->data_bytes = size;
    }
    at += 8U + size + size % 2U;
  }
  return at == n_bytes && heard->bits && heard->data_bytes;
}

/// Whether the sound starts from silence and has something in it.
static bool
holds_a_shot(const char* bytes, const Heard* heard) {
  const unsigned n = heard->bits / 8U;
  const uint32_t middle = heard->bits == 8U ? 128U : 0U;
  size_t         n_loud = 0;
  for (size_t at = 0; at + n <= heard->data_bytes; at += n) {
    n_loud += number(bytes, heard->data_at + at, n) != middle;
  }
  return number(bytes, heard->data_at, n) == middle && n_loud > 1000U;
}

static bool
check_file(const char* path, const Heard* wanted) {
  static const struct {
    const char* name;
    bool (*read)(const char* bytes, size_t n_bytes, Heard* heard);
  } readers[] = {
    {"fixed", read_fixed}, {"fussy", read_fussy}, {"walking", read_walking}};

  size_t      n_bytes = 0;
  char* const bytes = read_file(path, &n_bytes);
  bool        ok = check_that(bytes != NULL, "%s is there", path);
  for (size_t i = 0; ok && i < COUNT(readers); ++i) {
    Heard heard = {0};
    ok = check_that(readers[i].read(bytes, n_bytes, &heard),
                    "%s: the %s reader reads it",
                    path,
                    readers[i].name) &&
         check_equal(heard.rate_hz, wanted->rate_hz, "%s: rate", path) &&
         check_equal(heard.n_channels, wanted->n_channels, "%s", path) &&
         check_equal(heard.bits, wanted->bits, "%s: bits", path) &&
         check_equal((double)heard.data_at, 44.0, "%s: start", path);
    ok = ok && (!strstr(path, ".shot.") ||
                check_that(holds_a_shot(bytes, &heard), "%s: sound", path));
  }
  free(bytes);
  return ok;
}

/// Make the files of one format in one form, and read them.
static bool
check_format(const Heard* wanted, const char* form) {
  static const char* const parts[] = {"shot", "runin", "loop", "ringout"};

  char line[256];
  (void)snprintf(line,
                 sizeof(line),
                 "loop -q -f -o out --form %s --sample-rate %u --channels %u "
                 "--bits %u --fire-rate 9 zap.wav",
                 form,
                 wanted->rate_hz,
                 wanted->n_channels,
                 wanted->bits);
  remove_all("out");
  Run        made = run(line);
  bool       ok = run_check(made.status == 0, &made, line);
  const bool pieces = !strcmp(form, "pieces");
  for (size_t i = 0; ok && i < COUNT(parts); ++i) {
    char path[64];
    (void)snprintf(path, sizeof(path), "out/zap.%s.wav", parts[i]);
    if (pieces || i == 0U || i == 2U) {
      ok &= check_file(path, wanted);
    }
  }
  run_clear(&made);
  return check_that(ok, "%s", line);
}

static void
test_all_plain_formats(void** state) {
  (void)state;
  static const unsigned    rates_hz[] = {8000, 11025, 22050, 44100, 48000};
  static const unsigned    bits[] = {8, 16, 24};
  static const char* const forms[] = {"pieces", "whole-file", "loop-points"};

  bool ok = true;
  for (size_t i = 0; i < COUNT(rates_hz) * COUNT(bits) * 2U; ++i) {
    const Heard wanted = {.rate_hz = rates_hz[i % COUNT(rates_hz)],
                          .n_channels = (unsigned)(i % 2U) + 1U,
                          .bits = bits[i / COUNT(rates_hz) % COUNT(bits)]};
    // Odd and even numbers of frames come of different rates and forms.
    ok &= check_format(&wanted, forms[i % COUNT(forms)]);
  }
  assert_true(ok);
}

// The readers themselves refuse what they are there to refuse.
static void
test_readers(void** state) {
  (void)state;
  static const char odd[] = "RIFF\x25\0\0\0WAVEfmt \x10\0\0\0\1\0\1\0"
                            "\x40\x1F\0\0\x40\x1F\0\0\1\0\x08\0"
                            "data\1\0\0\0\x80";
  Heard             heard = {0};
  assert_true(read_fixed(odd, sizeof(odd) - 1U, &heard));
  assert_false(read_fussy(odd, sizeof(odd) - 1U, &heard));
  assert_false(read_walking(odd, sizeof(odd) - 1U, &heard));
}

int
main(int argc, char** argv) {
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_all_plain_formats),
    cmocka_unit_test(test_readers),
  };
  run_set_up(argc, argv);
  wav_file_write(
    &(WavFile){.path = "zap.wav", .fill = FILL_SHOT, .seconds = 0.8});
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  run_tear_down();
  return failed;
}
