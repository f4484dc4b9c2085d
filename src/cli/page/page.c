#include "cli/page/page.h"

#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The page as it was built */

// Where the sounds belong in it.
#define MARK "<!-- written -->\n"

// Longer than the paths of programs are.
#define PATH_ROOM 4096U

/// Where it lies, seen from the program: installed, or in the sources.
static const char* const places[] = {
  "../share/volleyweave/volleyweave.html",
  "../../../build-page/src/page/volleyweave.html",
};

/// Read it, if it is there, and find where the sounds belong.
static void
read_built(Page* page) {
  char          program[PATH_ROOM] = "";
  const ssize_t n = readlink("/proc/self/exe", program, PATH_ROOM - 1U);
  for (size_t i = 0; n > 0 && i < 2U && !page->built.data; ++i) {
    char* const path = vw_path_sibling(program, places[i], "");
    if (path && !vw_file_read(path, &page->built)) {
      const char* const text = (const char*)page->built.data;
      const char* const mark = strstr(text, MARK);
      page->at = mark ? (size_t)(mark - text) : 0U;
      if (!mark) {
        vw_bytes_clear(&page->built);
      }
    }
    free(path);
  }
}

/* Blocks */

static char*
put_base64(char* at, const unsigned char* bytes, size_t n_bytes) {
  static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                "abcdefghijklmnopqrstuvwxyz0123456789+/";
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

/// How many characters so many bytes become.
static size_t
base64_length(size_t n_bytes) {
  return (n_bytes + 2U) / 3U * 4U;
}

char*
page_base64(const VwBytes* bytes) {
  char* const text = malloc(base64_length(bytes->n_bytes) + 1U);
  if (text) {
    *put_base64(text, bytes->data, bytes->n_bytes) = '\0';
  }
  return text;
}

/// Write JSON, safe inside a page: without markup, which stands in strings
/// alone.
static bool
put_json(void* context, const char* json, size_t n_bytes) {
  FILE* const out = context;
  size_t      from = 0;
  for (size_t i = 0; i < n_bytes; ++i) {
    if (json[i] == '<' || json[i] == '>' || json[i] == '&') {
      (void)fwrite(json + from, 1U, i - from, out);
      fprintf(out, "\\u%04x", (unsigned)json[i]);
      from = i + 1U;
    }
  }
  (void)fwrite(json + from, 1U, n_bytes - from, out);
  return !ferror(out);
}

/// Add a block of data, and free the figures.
static void
add_block(FILE* out, Figures* figures) {
  fputs("<script type=\"application/json\" class=\"written\">", out);
  (void)figures_send(figures, put_json, out);
  fputs("</script>\n", out);
}

void
page_add(Page* page, const char* name, const VwBytes* bytes) {
  Figures* const block = figures_new();
  figures_set(block, "name", name);
  figures_set_made(block, "bytes", page_base64(bytes));
  add_block(page->out, block);
}

/* Files */

const char*
page_name_of(const Page* page, const char* path) {
  for (size_t i = 0; i < page->n_files; ++i) {
    if (!strcmp(page->files[i].path, path)) {
      return page->files[i].name;
    }
  }
  return NULL;
}

static bool
is_taken(const Page* page, const char* name) {
  for (size_t i = 0; i < page->n_files; ++i) {
    if (!strcmp(page->files[i].name, name)) {
      return true;
    }
  }
  return false;
}

/// A name that no file has yet, and that is one on every system. To be freed;
/// NULL without memory.
static char*
free_name(const Page* page, const char* name) {
  char* const safe = text_safe(name);
  for (char* at = safe; at && (at = strchr(at, '\\')); ++at) {
    *at = '_';
  }
  char* found = safe ? text_format("%s", safe) : NULL;
  for (unsigned i = 2; found && is_taken(page, found); ++i) {
    free(found);
    found = text_format("%u-%s", i, safe);
  }
  free(safe);
  return found;
}

/// Add what a file holds, if it has room; else name it as left out.
static void
add_content(Page* page, const PageFile* file) {
  VwBytes        bytes = {0};
  const VwStatus st = vw_file_read(file->path, &bytes);
  const size_t   n = base64_length(bytes.n_bytes);
  if (st) {
    // That a take is missing was said.
    if (st != VW_MISSING) {
      say_status(file->path, st);
    }
  } else if (n > PAGE_CHARACTERS_MOST - page->n_characters) {
    say(file->path,
        "no room is left for it in the page: open it there yourself");
    figures_add(page->left_out, file->name);
  } else {
    page->n_characters += n;
    page_add(page, file->name, &bytes);
  }
  vw_bytes_clear(&bytes);
}

const char*
page_file(Page* page, const char* path, const char* name) {
  const char* const known = page_name_of(page, path);
  if (known) {
    return known;
  }
  PageFile* const more =
    realloc(page->files, (page->n_files + 1U) * sizeof(PageFile));
  page->files = more ? more : page->files;
  const PageFile file = {more ? text_format("%s", path) : NULL,
                         more ? free_name(page, name) : NULL};
  if (!file.path || !file.name) {
    free(file.path);
    free(file.name);
    return NULL;
  }
  more[page->n_files++] = file;
  add_content(page, &file);
  return file.name;
}

const char*
page_board(Page* page, const char* path, const VwBoard* board) {
  char* const name =
    path ? text_format("%s" BOARD_FILE_ENDING, board->name) : NULL;
  const char* const word = name ? page_file(page, path, name) : board->name;
  free(name);
  return word;
}

/* The page */

bool
page_is_plain(const Page* page) {
  return !page->built.data;
}

bool
page_begin(const Settings* settings, const char* title, Page* page) {
  *page = (Page){
    .settings = settings, .head = figures_new(), .left_out = figures_list()};
  page->out = open_memstream(&page->text, &page->n_bytes);
  figures_set(page->head, "title", title);
  figures_set(page->head, "board", "");
  figures_set(page->head, "settings", figures_new());
  figures_set(page->head, "left_out", page->left_out);
  read_built(page);
  if (!page->out) {
    page_drop(page);
    return say("page", "not enough memory");
  }
  if (page_is_plain(page)) {
    page_plain_begin(page->out, title);
  }
  return true;
}

void
page_drop(Page* page) {
  if (page->out) {
    (void)fclose(page->out);
  }
  for (size_t i = 0; i < page->n_files; ++i) {
    free(page->files[i].path);
    free(page->files[i].name);
  }
  free(page->files);
  free(page->text);
  figures_free(page->head);
  vw_bytes_clear(&page->built);
  *page = (Page){.settings = NULL};
}

/// The whole page. Without memory: no bytes.
static VwBytes
whole(Page* page) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  bool        good = !fclose(page->out) && out;
  page->out = NULL;
  if (good && !page_is_plain(page)) {
    (void)fwrite(page->built.data, 1U, page->at, out);
    add_block(out, page->head);
    page->head = NULL;
  }
  good = good && fwrite(page->text, 1U, page->n_bytes, out) == page->n_bytes;
  if (good && !page_is_plain(page)) {
    const size_t after = page->at + strlen(MARK);
    (void)fwrite(
      page->built.data + after, 1U, page->built.n_bytes - after, out);
  }
  if (!out || fclose(out) || !good) {
    free(text);
    return (VwBytes){NULL, 0U};
  }
  return (VwBytes){(unsigned char*)text, n};
}

bool
page_end(Page* page, const char* path, bool* same) {
  const Settings* const settings = page->settings;
  const VwBytes         bytes = whole(page);
  char* const           name = text_format("%s", path);
  MadeFile              file = {.path = name, .bytes = bytes};
  MadeFiles             made = {.files = &file, .n_files = 1U};
  Destination           to = {.kind = TO_FILE, .path = path};
  uint64_t              there = 0;
  size_t                at = 0;
  VwStatus              st = bytes.data && name ? VW_OK : VW_NO_MEMORY;
  *same = !st && !vw_file_digest(path, &there) &&
          there == vw_digest(bytes.data, bytes.n_bytes);
  st = st || *same ? st : made_files_write(&made, settings, &to, &at);
  if (st) {
    say_status(path, st);
  } else if (page_is_plain(page) && !settings->quiet && !settings->json) {
    say(path, "%s", page_plain_words);
  }
  vw_bytes_clear(&file.bytes);
  free(name);
  page_drop(page);
  return !st;
}
