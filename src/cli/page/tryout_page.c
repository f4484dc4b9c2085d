#include "cli/page/tryout_page.h"

#include "cli/options/options.h"
#include "cli/page/facts.h"
#include "cli/page/tryout_parts.h"
#include "store/store.h"

#include <inttypes.h>
#include <stdio.h>
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
  const VwRange  range = options_find("valley")->range;
  *page = (TryoutPage){.to = to};
  for (size_t i = 0; i < head->n_boards; ++i) {
    figures_add(boards, facts_of_board(&head->boards[i]));
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
