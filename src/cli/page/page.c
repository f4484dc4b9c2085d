#include "cli/page/page.h"

#include "cli/options/options.h"
#include "store/store.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KEY_FORMAT "<!-- made from %016" PRIx64 " -->\n"
#define KEY_LENGTH 36

/* Blocks */

static void
add_text(TryoutPage* page, const char* text) {
  (void)vw_pour_add(page->to, text, strlen(text));
}

/// Add JSON, safe inside a page: without markup, which stands in strings alone.
static bool
add_json(void* context, const char* json, size_t n_bytes) {
  TryoutPage* const page = context;
  const char* const end = json + n_bytes;
  VwStatus          st = VW_OK;
  while (!st && json < end) {
    const char* at = json;
    while (at < end && *at != '<' && *at != '>' && *at != '&') {
      ++at;
    }
    st = vw_pour_add(page->to, json, (size_t)(at - json));
    if (!st && at < end) {
      char escape[8];
      (void)snprintf(escape, sizeof(escape), "\\u%04x", (unsigned)*at++);
      add_text(page, escape);
    }
    json = at;
  }
  return !st;
}

/// Add a block of data, and free the figures.
static void
add_block(TryoutPage* page, const char* kind, Figures* figures) {
  add_text(page, "<script type=\"application/json\" ");
  add_text(page, kind);
  add_text(page, ">");
  if (!figures_send(figures, add_json, page)) {
    page->status = page->status ? page->status : VW_NO_MEMORY;
  }
  add_text(page, "</script>\n");
}

/* The page */

void
tryout_page_begin(TryoutPage* page, const TryoutHead* head, VwPour* to) {
  Figures* const data = figures_new();
  Figures* const boards = figures_list();
  Figures* const valley = figures_new();
  Figures* const cautions = figures_list();
  const VwRange  range = options_find("valley")->range;
  *page = (TryoutPage){.to = to};
  for (size_t i = 0; i < head->n_boards; ++i) {
    figures_add(boards, facts_of_board(&head->boards[i]));
  }
  const VwCaution* caution = NULL;
  for (size_t i = 0; (caution = vw_caution(VW_CAUTION_SHEET, i)); ++i) {
    figures_add(cautions, caution->text);
  }
  // What the valley's slider goes over, and where it starts.
  figures_set(valley, "least", range.least);
  figures_set(valley, "most", range.most);
  figures_set(valley, "usual", vw_family_defaults().valley_db);
  figures_set(data, "schema", 1U);
  figures_set(data, "version", vw_version());
  figures_set(data, "heardMost", TRYOUT_HEARD_MOST);
  figures_set(data, "title", head->title);
  figures_set(data, "madeBy", head->made_by);
  figures_set(data, "speakerHz", head->speaker_hz);
  figures_set(data, "valley", valley);
  figures_set(data, "flashesMostPerS", CAUTION_FLASHES_PER_S);
  figures_set(data, "screenCaution", caution_text(VW_CAUTION_SCREEN));
  figures_set(data, "sheetCautions", cautions);
  figures_set(data, "boards", boards);
  add_text(page, tryout_before);
  add_block(page, "id=\"data\"", data);
}

void
tryout_page_add(TryoutPage* page, const TryoutSound* sound) {
  const uint64_t n = frames_length(sound);
  const bool     some = sound->single || sound->rapid;
  const bool     heard = some && page->n_heard + n <= TRYOUT_HEARD_MOST;
  page->n_heard += heard ? n : 0U;
  add_block(page, "class=\"sound\"", facts_of_sound(sound, heard));
  // In a block of its own that is read when it is wanted.
  add_block(page, "class=\"frames\"", frames_of_sound(sound, heard));
}

VwStatus
tryout_page_end(TryoutPage* page, uint64_t key) {
  char text[KEY_LENGTH + 2];
  add_text(page, tryout_after);
  (void)snprintf(text, sizeof(text), KEY_FORMAT, key);
  add_text(page, text);
  // What failed once fails again.
  const VwStatus st = vw_pour_add(page->to, "", 0U);
  return st ? st : page->status;
}

uint64_t
tryout_page_key(const char* path) {
  char        last[KEY_LENGTH + 1] = "";
  uint64_t    key = 0;
  FILE* const page = fopen(path, "rb");
  if (!page) {
    return 0;
  }
  const bool good = !fseek(page, -KEY_LENGTH, SEEK_END) &&
                    fread(last, KEY_LENGTH, 1U, page) == 1U &&
                    sscanf(last, "<!-- made from %16" SCNx64, &key) == 1;
  (void)fclose(page);
  return good ? key : 0U;
}

static const int interrupting[] = {SIGINT, SIGTERM, SIGHUP};

#define N_INTERRUPTING (sizeof(interrupting) / sizeof(interrupting[0]))

VwStatus
page_file_begin(const char* path, const Settings* settings, PageFile* file) {
  const VwWriteOptions options = {.force = settings->force,
                                  .takes = settings->takes,
                                  .n_takes = settings->n_takes};
  sigset_t             waiting;
  sigemptyset(&waiting);
  for (size_t i = 0; i < N_INTERRUPTING; ++i) {
    sigaddset(&waiting, interrupting[i]);
  }
  *file = (PageFile){.pour = NULL};
  sigprocmask(SIG_BLOCK, &waiting, &file->waited);
  const VwStatus st = vw_pour_begin(path, &options, &file->pour);
  if (st) {
    sigprocmask(SIG_SETMASK, &file->waited, NULL);
  }
  return st;
}

bool
page_file_is_interrupted(void) {
  sigset_t pending;
  if (sigpending(&pending)) {
    return false;
  }
  for (size_t i = 0; i < N_INTERRUPTING; ++i) {
    if (sigismember(&pending, interrupting[i]) == 1) {
      return true;
    }
  }
  return false;
}

VwStatus
page_file_end(PageFile* file, bool keep) {
  VwStatus st = VW_OK;
  if (keep) {
    st = vw_pour_end(file->pour);
  } else {
    vw_pour_drop(file->pour);
  }
  file->pour = NULL;
  sigprocmask(SIG_SETMASK, &file->waited, NULL);
  return st;
}

// Of values that are made into text at once: whole threes of bytes whatever the
// encoding.
#define PORTION 3072U

unsigned
tryout_codes_bytes(VwEncoding encoding) {
  static const unsigned bytes[] = {[VW_ENCODING_U8] = 1U,
                                   [VW_ENCODING_S16] = 2U,
                                   [VW_ENCODING_S24] = 3U,
                                   [VW_ENCODING_FLOAT] = 4U};
  return bytes[encoding];
}

const char*
tryout_codes_word(VwEncoding encoding) {
  static const char* const words[] = {[VW_ENCODING_U8] = "u8",
                                      [VW_ENCODING_S16] = "s16",
                                      [VW_ENCODING_S24] = "s24",
                                      [VW_ENCODING_FLOAT] = "f32"};
  return words[encoding];
}

uint64_t
tryout_codes_length(const VwSound* sound, VwEncoding encoding) {
  const uint64_t n_bytes = (uint64_t)sound->n_frames * sound->n_channels *
                           tryout_codes_bytes(encoding);
  return (n_bytes + 2U) / 3U * 4U;
}

static uint32_t
bits_of(float value, VwEncoding encoding) {
  if (encoding == VW_ENCODING_FLOAT) {
    uint32_t bits = 0;
    memcpy(&bits, &value, sizeof(bits));
    return bits;
  }
  const double half = ldexp(1.0, 8 * (int)tryout_codes_bytes(encoding) - 1);
  const double code =
    fmin(fmax(floor((double)value * half + 0.5), -half), half - 1.0);
  return encoding == VW_ENCODING_U8 ? (uint32_t)(code + half)
                                    : (uint32_t)(int32_t)code;
}

/// Put bytes into base64 (RFC 4648); of several portions all but the last must
/// be whole threes. Returns where the text ends.
static char*
put_base64(char* at, const unsigned char* bytes, size_t n_bytes) {
  static const char letters[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  for (size_t i = 0; i < n_bytes; i += 3U) {
    const size_t   left = n_bytes - i;
    const unsigned second = left > 1U ? bytes[i + 1U] : 0U;
    const unsigned third = left > 2U ? bytes[i + 2U] : 0U;
    const unsigned bits = (unsigned)bytes[i] << 16U | second << 8U | third;
    *at++ = letters[bits >> 18U];
    *at++ = letters[bits >> 12U & 63U];
    *at++ = left > 1U ? letters[bits >> 6U & 63U] : '=';
    *at++ = left > 2U ? letters[bits & 63U] : '=';
  }
  return at;
}

char*
tryout_codes_text(const VwSound* sound, VwEncoding encoding) {
  const size_t   n_values = sound->n_frames * sound->n_channels;
  const unsigned n_bytes = tryout_codes_bytes(encoding);
  unsigned char  bytes[4U * PORTION];
  char* const text = malloc((size_t)tryout_codes_length(sound, encoding) + 1U);
  char*       end = text;
  for (size_t at = 0; text && at < n_values; at += PORTION) {
    const size_t   n = n_values - at < PORTION ? n_values - at : PORTION;
    unsigned char* to = bytes;
    for (size_t i = 0; i < n; ++i) {
      const uint32_t bits = bits_of(sound->values[at + i], encoding);
      for (unsigned k = 0; k < n_bytes; ++k) {
        *to++ = (unsigned char)(bits >> (8U * k) & 0xFFU);
      }
    }
    end = put_base64(end, bytes, (size_t)(to - bytes));
  }
  if (text) {
    *end = '\0';
  }
  return text;
}
