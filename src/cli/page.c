#include "cli/page.h"
#include "cli/boards/boards.h"
#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/options/options.h"
#include "cli/options/speaker.h"
#include "cli/options/types.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// The page of packs: their prop with all its takes and boards, or their files.

/* The prop */

/// The name in the page of a take that is seen so from here. To be freed.
static char*
name_in_page(const void* page, const char* take) {
  const char* const name = page_name_of(page, take);
  return text_format("%s", name ? name : vw_path_name(take));
}

/// The keys for all sounds, and what was given on the command line in their
/// place. False without memory.
static bool
merge_keys(const PagePack* shown, PropKeys* keys) {
  const PropKeys* const of = &shown->prop->keys;
  const Settings* const line = shown->settings;
  bool                  good = true;
  for (size_t i = 0; good && i < of->n_options; ++i) {
    const PropOption* const one = &of->options[i];
    good = settings_is_given(line, one->option->name) ||
           prop_keys_add(keys, one->option, one->value, 0U);
  }
  for (size_t i = 0; good && i < line->n_given; ++i) {
    const Given* const  given = &line->given[i];
    const Option* const option = options_find(given->name);
    good = !(option->commands & PROP_KEY) ||
           prop_keys_add(keys, option, given->value ? given->value : "yes", 0U);
  }
  return good;
}

/// A prop's text with what else was asked for all packs, in the remarks that
/// the page reads. Frees the text. To be freed; NULL without memory.
static char*
with_flags(const Settings* line, char* text) {
  static const char  prop[] = "\n[prop]\n";
  const char* const  at = text ? strstr(text, prop) : NULL;
  const size_t       n = at ? (size_t)(at - text) + strlen(prop) : 0U;
  const PackSettings asked = line->pack;
  char* const        more = !at ? NULL
                                : text_format("%.*s%s%s%s",
                                       (int)n,
                                       text,
                                       asked.all_reach ? "# --all-reach\n" : "",
                                       asked.fit ? "# --fit\n" : "",
                                       text + n);
  free(text);
  return more;
}

/// The prop as the page reads it, for the boards with these words. To be freed;
/// NULL without memory.
static char*
text_of(const PagePack* shown, const Page* page, char** boards) {
  const PropTakes named = {name_in_page, page};
  Prop            prop = *shown->prop;
  prop.keys = (PropKeys){0};
  prop.boards = boards;
  prop.n_boards = shown->boards->n_boards;
  char* const text =
    merge_keys(shown, &prop.keys) ? prop_text(&prop, &named) : NULL;
  prop_keys_clear(&prop.keys);
  return with_flags(shown->settings, text);
}

/* Files */

static void
add_take(Page* page, const char* path) {
  (void)page_file(page, path, vw_path_name(path));
}

/// Add the files that keys name: takes and speakers.
static void
add_named(const PropKeys* keys, Page* page) {
  for (size_t i = 0; i < keys->n_options; ++i) {
    const PropOption* const one = &keys->options[i];
    char* const             speaker =
      one->option->type == &type_speaker ? speaker_file(one->value) : NULL;
    if (one->option->type == &type_take || speaker) {
      add_take(page, speaker ? speaker : one->value);
    }
    free(speaker);
  }
}

/// Add all files that sounds are made from.
static void
add_takes(const Prop* prop, Page* page) {
  add_named(&prop->keys, page);
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    const PropKeys* const  keys = &sound->keys;
    page->sound = sound->name;
    for (size_t k = 0; k < sound->n_takes; ++k) {
      add_take(page, sound->takes[k]);
    }
    add_named(keys, page);
  }
  page->sound = NULL;
}

/// Add the file of the speaker that the command line names.
static void
add_speaker(const Settings* settings, Page* page) {
  for (size_t i = 0; i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    char* const        speaker =
      !strcmp(given->name, "speaker") ? speaker_file(given->value) : NULL;
    if (speaker) {
      add_take(page, speaker);
    }
    free(speaker);
  }
}

/// Add all that the packs are made from. False without memory.
static bool
add_prop(const PagePack* shown, Page* page) {
  const PackBoards* const boards = shown->boards;
  char** const            words = calloc(boards->n_boards, sizeof(char*));
  for (size_t i = 0; words && i < boards->n_boards; ++i) {
    const char* const word =
      page_board(page, boards->paths[i], &boards->boards[i]);
    words[i] = text_format("%s", word ? word : boards->boards[i].name);
  }
  if (words && words[0]) {
    figures_set(page->head, "board", words[0]);
  }
  add_takes(shown->prop, page);
  add_speaker(shown->settings, page);
  char* const   text = words ? text_of(shown, page, words) : NULL;
  const VwBytes bytes = {(unsigned char*)text, text ? strlen(text) : 0U};
  if (text) {
    page_add(page, "sounds.ini", &bytes);
  }
  free(text);
  for (size_t i = 0; words && i < boards->n_boards; ++i) {
    free(words[i]);
  }
  free(words);
  return text;
}

/* The page */

// The program in a page writes none: it would be a plain one.
#ifdef __EMSCRIPTEN__
#  define IN_PAGE true
#else
#  define IN_PAGE false
#endif

/// Add what the page shows. False without memory.
static bool
add_all(const PagePack* shown, Page* page) {
  const size_t n = shown->boards->n_boards;
  if (!page_is_plain(page)) {
    return add_prop(shown, page);
  }
  for (size_t i = 0; i < n; ++i) {
    if (shown->runs[i].written) {
      page_plain_pack(page->out, &shown->runs[i]);
    }
  }
  return true;
}

static bool
is_any_written(const PagePack* shown) {
  for (size_t i = 0; i < shown->boards->n_boards; ++i) {
    if (shown->runs[i].written) {
      return true;
    }
  }
  return false;
}

void
page_tell_plain(bool plain) {
  if (plain) {
    printf("  it %s\n", page_plain_words);
  }
}

/// Tell where the page is.
static void
tell(const PagePack* shown, bool plain, bool same) {
  const Settings* const settings = shown->settings;
  if (!settings->quiet && !settings->json) {
    char* const safe = text_safe(shown->path);
    printf("%s: %s\n",
           safe,
           same ? "as it was" : "open it in a browser to try the sounds");
    page_tell_plain(plain);
    free(safe);
  }
}

bool
page_of_pack(const PagePack* shown) {
  Page page = {.settings = NULL};
  bool same = false;
  if (IN_PAGE || !is_any_written(shown)) {
    return true;
  }
  if (!page_begin(shown->settings, shown->prop->name, &page)) {
    return false;
  }
  if (!add_all(shown, &page)) {
    page_drop(&page);
    return say(shown->path, NO_MEMORY);
  }
  const bool plain = page_is_plain(&page);
  if (!page_end(&page, shown->path, &same)) {
    return false;
  }
  tell(shown, plain, same);
  return true;
}

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
  char* found = text_format("%s", safe);
  for (unsigned i = 2; found && is_taken(page, found); ++i) {
    free(found);
    found = text_format("%u-%s", i, safe);
  }
  free(safe);
  return found;
}

/// Say that a file cannot go into the page, and of which sound it is.
static void
refuse(Page* page, const char* path, VwStatus status) {
  char* const subject =
    page->sound ? text_format("[sound %s] %s", page->sound, path) : NULL;
  say_status(subject ? subject : path, status);
  free(subject);
  page->failed = true;
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
      refuse(page, file->path, st);
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
    refuse(page, path, VW_NO_MEMORY);
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
    return say("page", NO_MEMORY);
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
  if (page->failed) {
    page_drop(page);
    return false;
  }
  const VwBytes bytes = whole(page);
  char* const   name = text_format("%s", path);
  MadeFile      file = {.path = name, .bytes = bytes};
  MadeFiles     made = {.files = &file, .n_files = 1U};
  Destination   to = {.kind = TO_FILE, .path = path};
  uint64_t      there = 0;
  size_t        at = 0;
  VwStatus      st = bytes.data && name ? VW_OK : VW_NO_MEMORY;
  *same = !st && !vw_file_digest(path, &there) &&
          there == vw_digest(bytes.data, bytes.n_bytes);
  st = st || *same ? st : made_files_write(&made, settings, &to, &at);
  if (st) {
    say_status(path, st);
  }
  vw_bytes_clear(&file.bytes);
  free(name);
  page_drop(page);
  return !st;
}
