// Refusing by name what is no whole sound file.

#define _XOPEN_SOURCE 700

#include "support/check.h"
#include "support/folder.h"
#include "support/takes.h"

#include "volleyweave/volleyweave.h"

#include <sndfile.h>

#include <errno.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* Bytes that cannot be read: see the linker's --wrap. */

// The `countdown`th read fails, the first being 1; 0: none does.
static struct {
  unsigned countdown;
  int      error;
} fault_of_read;

ssize_t __real_pread64(int fd, void* bytes, size_t n_bytes, off_t at);
ssize_t __wrap_pread64(int fd, void* bytes, size_t n_bytes, off_t at);

ssize_t
__wrap_pread64(int fd, void* bytes, size_t n_bytes, off_t at) {
  if (fault_of_read.countdown && !--fault_of_read.countdown) {
    errno = fault_of_read.error;
    return -1;
  }
  return __real_pread64(fd, bytes, n_bytes, at);
}

/// Read with the `count`th read failing; whether it came to that.
static bool
read_failing(const TakeFile* file, unsigned count, int error, VwStatus* st) {
  VwSound sound = {0};
  VwSound whole = {0};
  *st = takes_read(file->path, &whole, NULL);
  assert_int_equal(*st, VW_OK);
  fault_of_read.countdown = count;
  fault_of_read.error = error;
  *st = takes_read(file->path, &sound, NULL);
  const bool met = !fault_of_read.countdown;
  fault_of_read.countdown = 0;
  if (!*st) {
    assert_int_equal(sound.n_frames, whole.n_frames);
    assert_memory_equal(sound.values,
                        whole.values,
                        whole.n_frames * whole.n_channels * sizeof(float));
  } else {
    assert_null(sound.values);
  }
  vw_sound_clear(&sound);
  vw_sound_clear(&whole);
  return met;
}

// No read may fail in silence: not in the header, and not in what follows. One
// that a signal breaks off goes on. Of many, some are tried.
static void
test_each_read_fails(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < TAKES_N_FORMATS; ++i) {
    TakeFile file = takes_second;
    VwStatus st = VW_OK;
    file.format = takes_formats[i].format;
    takes_put(&file);
    unsigned n = 0;
    for (unsigned at = 1; read_failing(&file, at, EIO, &st);
         at += 1U + at / 16U) {
      ok &= check_equal(
        st, VW_UNREADABLE, "%s: read %u", takes_formats[i].name, at);
      read_failing(&file, at, EINTR, &st);
      ok &= check_equal(
        st, VW_OK, "%s: read %u broken off", takes_formats[i].name, at);
      ++n;
    }
    ok &= check_at_least(n, 3.0, "%s: reads", takes_formats[i].name);
  }
  assert_true(ok);
}

/* Less than promised. */

static void
test_cut_short(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < TAKES_N_FORMATS; ++i) {
    TakeFile file = takes_second;
    file.format = takes_formats[i].format;
    takes_put(&file);
    size_t n_bytes = 0;
    free(folder_get(file.path, &n_bytes));
    for (size_t percent = 90; percent >= 10; percent -= 8) {
      VwSound     sound;
      VwReadFault fault = {1, 1, 1};
      takes_cut(file.path, n_bytes * percent / 100);
      const VwStatus st = takes_read(file.path, &sound, &fault);
      const char*    name = takes_formats[i].name;
      ok &= check_equal(st, VW_CUT_SHORT, "%s at %zu %%", name, percent);
      const double promised = (double)fault.n_frames_promised;
      // Ogg promises nothing, and ends at a page.
      const bool is_ogg = !strncmp(name, "Ogg", 3);
      ok &= check_at_most(fabs(promised - (is_ogg ? 0.0 : 48000.0)),
                          takes_formats[i].error > 0 ? 2000.0 : 0.0,
                          "%s: promised",
                          name);
      ok &= check_that(
        is_ogg || fault.rate_hz == 48000U, "%s: frames a second", name);
      ok &= check_at_most((double)fault.n_frames_there,
                          480.0 * (double)percent + 2000.0,
                          "%s at %zu %%: there",
                          name,
                          percent);
    }
  }
  assert_true(ok);
}

// Behind a tag (ID3v2: ten bytes, the last four its length, seven bits of each)
// an MP3 file promises the same.
static void
test_cut_behind_tag(void** state) {
  (void)state;
  static const unsigned char tag[10 + 300] = {
    'I', 'D', '3', 4, 0, 0, 0, 0, 2, 44};
  TakeFile file = takes_second;
  file.format = SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III;
  takes_put(&file);
  size_t               n_bytes = 0;
  char* const          plain = folder_get(file.path, &n_bytes);
  unsigned char* const tagged = calloc(sizeof(tag) + n_bytes, 1);
  assert_non_null(tagged);
  memcpy(tagged, tag, sizeof(tag));
  memcpy(tagged + sizeof(tag), plain, n_bytes);
  folder_put("whole.mp3", tagged, sizeof(tag) + n_bytes);
  folder_put("cut.mp3", tagged, sizeof(tag) + n_bytes - 1U);
  free(tagged);
  free(plain);
  assert_int_equal(takes_status("whole.mp3"), VW_OK);
  assert_int_equal(takes_status("cut.mp3"), VW_CUT_SHORT);
}

// What a decoder is late by and leaves out at the start, frames (libmpg123,
// from memory).
#define DECODER_DELAY 529.0

// Without its first frame, which holds nothing but the length of the others, an
// MP3 file is read to its last frame, at constant and at varying bit rates; a
// tag behind is no sound. Only where it ends within a frame it is cut short.
static void
test_no_length(void** state) {
  (void)state;
  static const unsigned rates_hz[] = {44100, 48000, 22050};
  bool                  ok = true;
  for (int i = 0; i < 6; ++i) {
    TakeFile    file = takes_second;
    VwSound     sound = {0};
    VwReadFault fault = {1, 1, 1};
    size_t      n_bytes = 0;
    file.format = SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III;
    file.rate_hz = rates_hz[i % 3];
    file.constant = i < 3;
    takes_put(&file);
    char* const          plain = folder_get(file.path, &n_bytes);
    unsigned char* const bytes = realloc(plain, n_bytes + 128);
    assert_non_null(bytes);
    size_t second = 4;
    while (memcmp(bytes + second, bytes, 2)) {
      ++second;
    }
    // The number of frames stands behind two bytes of flags.
    size_t at = 0;
    while (memcmp(bytes + at, i < 3 ? "Info" : "Xing", 4)) {
      ++at;
    }
    const double n_frames =
      (bytes[at + 10] * 256.0 + bytes[at + 11]) * (i % 3 == 2 ? 576 : 1152) -
      DECODER_DELAY;
    memset(bytes + n_bytes, 0, 128);
    memcpy(bytes + n_bytes, "TAG", 3);
    folder_put("whole.mp3", bytes + second, n_bytes - second);
    folder_put("tagged.mp3", bytes + second, n_bytes - second + 128);
    folder_put("cut.mp3", bytes + second, n_bytes - second - 1);
    free(bytes);
    ok &= check_equal(
      takes_read("cut.mp3", &sound, &fault), VW_CUT_SHORT, "%d: cut", i);
    ok &= check_equal((double)fault.n_frames_promised, 0.0, "%d: promised", i);
    ok &= check_at_most((double)fault.n_frames_there, n_frames, "%d: there", i);
    for (int tagged = 0; tagged < 2; ++tagged) {
      ok &= check_equal(
        takes_read(tagged ? "tagged.mp3" : "whole.mp3", &sound, &fault),
        VW_OK,
        "%d, tagged %d",
        i,
        tagged);
      ok &= check_equal(
        (double)sound.n_frames, n_frames, "%d, tagged %d: frames", i, tagged);
      vw_sound_clear(&sound);
    }
  }
  assert_true(ok);
}

static void
test_cut_exactly(void** state) {
  (void)state;
  const TakeHeader header = {1, 2, 44100, 16, 4000, 3999};
  VwSound          sound;
  VwReadFault      fault = {0};
  takes_put_header("cut.wav", &header);
  assert_int_equal(takes_read("cut.wav", &sound, &fault), VW_CUT_SHORT);
  assert_int_equal(fault.n_frames_promised, 1000);
  assert_int_equal(fault.n_frames_there, 999);
  assert_int_equal(fault.rate_hz, 44100);
  assert_int_equal(takes_status("cut.wav"), VW_CUT_SHORT);
}

// What would take gigabytes is refused before it is read: 8 channels at 384 kHz
// for 40 s.
static void
test_too_many_values(void** state) {
  (void)state;
  const uint32_t   n_bytes = 40U * 384000U * 8U;
  const TakeHeader header = {1, 8, 384000, 8, n_bytes, 0};
  takes_put_header("great.wav", &header);
  assert_int_equal(truncate("great.wav", 44 + (off_t)n_bytes), 0);
  assert_int_equal(takes_status("great.wav"), VW_TOO_MANY_VALUES);
}

/* Headers. */

typedef struct {
  TakeHeader header;
  VwStatus   status;
} HeaderCase;

static const HeaderCase header_cases[] = {
  {{1, 1, 44100, 16, 2, 2}, VW_OK},
  {{1, 1, 44100, 16, 3, 3}, VW_OK},
  {{1, 1, 44100, 16, 2000, 2001}, VW_OK},
  {{1, 8, 44100, 16, 1600, 1600}, VW_OK},
  {{1, 1, 4000, 16, 2000, 2000}, VW_OK},
  {{1, 1, 384000, 16, 2000, 2000}, VW_OK},
  {{1, 0, 44100, 16, 2000, 2000}, VW_CHANNELS},
  {{1, 9, 44100, 16, 1800, 1800}, VW_CHANNELS},
  {{1, 1025, 44100, 16, 4100, 4100}, VW_CHANNELS},
  {{1, 65535, 44100, 16, 131070, 131070}, VW_CHANNELS},
  {{1, 1, 0, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 3999, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 384001, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 0x80000000U, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 0xFFFFFFFFU, 16, 2000, 2000}, VW_SAMPLE_RATE},
  {{1, 1, 44100, 16, 0, 0}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 2000, 0}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 0xFFFFFFFFU, 0}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 1, 1}, VW_NO_FRAMES},
  {{1, 1, 44100, 16, 2001, 2000}, VW_CUT_SHORT},
  {{1, 1, 44100, 16, 0x7FFFFFFFU, 2000}, VW_CUT_SHORT},
  {{1, 1, 44100, 16, 0xFFFFFFFFU, 2000}, VW_CUT_SHORT},
  {{0x0161, 2, 44100, 16, 2000, 2000}, VW_CONTAINER},
  {{0x00FF, 2, 44100, 16, 2000, 2000}, VW_CONTAINER},
};

static void
test_headers(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(header_cases) / sizeof(header_cases[0]); ++i) {
    takes_put_header("header.wav", &header_cases[i].header);
    ok &= check_equal(
      takes_status("header.wav"), header_cases[i].status, "header %zu", i);
  }
  assert_true(ok);
}

/* What is no sound file. */

typedef struct {
  const char* bytes;
  size_t      n_bytes;
  VwStatus    status;
} BytesCase;

#define WAVE_WITH_LIST                                                         \
  "RIFF\x3C\0\0\0WAVEfmt \x10\0\0\0\1\0\1\0\x40\x1F\0\0\x80\x3E\0\0\2\0\x10\0" \
  "LIST\3\0\0\0abc\0"

#define BYTES(text) (text), sizeof(text) - 1

static const BytesCase bytes_cases[] = {
  {BYTES(""), VW_EMPTY},
  {BYTES("R"), VW_NOT_AUDIO},
  {BYTES("This is a letter and no sound at all.\n"), VW_NOT_AUDIO},
  {BYTES("\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0"), VW_NOT_AUDIO},
  {BYTES("\x89PNG\r\n\x1A\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1"), VW_NOT_AUDIO},
  {BYTES("\0\0\0\x20"
         "ftypM4A \0\0\0\0M4A mp42isom\0\0\0\0\0\0\0\0moov"),
   VW_CONTAINER},
  {BYTES("\0\0\0\x18"
         "ftypmp42\0\0\0\0mp42isom"),
   VW_CONTAINER},
  {BYTES("RIFF\x20\0\0\0AVI LIST\x10\0\0\0hdrlavih\0\0\0\0"), VW_CONTAINER},
  {BYTES("\x1A\x45\xDF\xA3\x9F\x42\x86\x81\x01\x42\xF7\x81"), VW_CONTAINER},
  {BYTES("\x30\x26\xB2\x75\x8E\x66\xCF\x11\xA6\xD9\0\xAA"), VW_CONTAINER},
  {BYTES("\x1A\x45 is half a mark alone"), VW_NOT_AUDIO},
  {BYTES("\x30\x26\xB2\x75 is half of another"), VW_NOT_AUDIO},
  {BYTES("RIFF\x04\0\0\0WAVE"), VW_DAMAGED},
  {BYTES("RIFF\x18\0\0\0WAVEfmt \x10\0\0\0\1\0\1\0"), VW_DAMAGED},
  {BYTES("fLaC\0\0\0\x22\x10\0"), VW_DAMAGED},
  {BYTES("OggS\0\2"), VW_CUT_SHORT},
  // A chunk of odd length, filled up with one byte, before the data.
  {BYTES(WAVE_WITH_LIST "data\x04\0\0\0\0\0\0\0"), VW_OK},
  {BYTES(WAVE_WITH_LIST "data\x08\0\0\0\0\0\0\0"), VW_CUT_SHORT},
};

static void
test_no_sound_file(void** state) {
  (void)state;
  bool ok = true;
  for (size_t i = 0; i < sizeof(bytes_cases) / sizeof(bytes_cases[0]); ++i) {
    folder_put("bytes.wav", bytes_cases[i].bytes, bytes_cases[i].n_bytes);
    ok &= check_equal(
      takes_status("bytes.wav"), bytes_cases[i].status, "bytes %zu", i);
  }
  assert_true(ok);
}

/* What is no file. */

static void
test_no_file(void** state) {
  (void)state;
  TakeFile file = takes_second;
  file.format = takes_formats[0].format;
  takes_put(&file);
  assert_int_equal(mkdir("folder", 0777), 0);
  assert_int_equal(mkfifo("pipe", 0666), 0);
  assert_int_equal(symlink("nowhere", "dangling"), 0);
  assert_int_equal(symlink("pipe", "to-pipe"), 0);
  assert_int_equal(symlink("take", "to-take"), 0);
  folder_put("caf\xE9.wav", "", 0);

  static const struct {
    const char* path;
    VwStatus    status;
  } cases[] = {
    {"take", VW_OK},
    {"to-take", VW_OK},
    {"none.wav", VW_MISSING},
    {"", VW_MISSING},
    {"none/take.wav", VW_MISSING},
    {"take/take.wav", VW_MISSING},
    {"dangling", VW_MISSING},
    {"folder", VW_NOT_REGULAR},
    {"pipe", VW_NOT_REGULAR},
    {"to-pipe", VW_NOT_REGULAR},
    {"/dev/zero", VW_NOT_REGULAR},
    {"/dev/null", VW_NOT_REGULAR},
    {"caf\xE9.wav", VW_NAME_NOT_UTF8},
  };
  bool ok = true;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    ok &= check_equal(
      takes_status(cases[i].path), cases[i].status, "%s", cases[i].path);
  }
  assert_true(ok);
}

// Root may read anything: a child gives that up.
static void
test_unreadable(void** state) {
  (void)state;
  TakeFile file = takes_second;
  file.format = takes_formats[0].format;
  takes_put(&file);
  assert_int_equal(chmod(".", 0755), 0);
  assert_int_equal(chmod(file.path, 0), 0);
  const pid_t child = fork();
  if (child == 0) {
    if (geteuid() == 0 && (setgid(65534) || setuid(65534))) {
      _exit(255);
    }
    _exit((int)takes_status(file.path));
  }
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  assert_true(WIFEXITED(status));
  assert_int_equal(WEXITSTATUS(status), VW_UNREADABLE);
}

#define READ_TEST(function)                                                    \
  cmocka_unit_test_setup_teardown(function, folder_enter, folder_leave)

int
main(void) {
  const struct CMUnitTest tests[] = {
    READ_TEST(test_each_read_fails),
    READ_TEST(test_cut_short),
    READ_TEST(test_cut_behind_tag),
    READ_TEST(test_no_length),
    READ_TEST(test_cut_exactly),
    READ_TEST(test_too_many_values),
    READ_TEST(test_headers),
    READ_TEST(test_no_sound_file),
    READ_TEST(test_no_file),
    READ_TEST(test_unreadable),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
