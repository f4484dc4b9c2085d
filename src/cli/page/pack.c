// The page of packs: their prop with all its takes and boards, or their files.

#include "cli/page/page.h"

#include "cli/message/message.h"
#include "cli/options/options.h"
#include "cli/options/types.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

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

/// Add all files that sounds are made from.
static void
add_takes(const Prop* prop, Page* page) {
  for (size_t i = 0; i < prop->n_sounds; ++i) {
    const PropSound* const sound = &prop->sounds[i];
    const PropKeys* const  keys = &sound->keys;
    for (size_t k = 0; k < sound->n_takes; ++k) {
      add_take(page, sound->takes[k]);
    }
    for (size_t k = 0; k < keys->n_options; ++k) {
      if (keys->options[k].option->type == &type_take) {
        add_take(page, keys->options[k].value);
      }
    }
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

/// Tell where the page is.
static void
tell(const PagePack* shown, bool same) {
  const Settings* const settings = shown->settings;
  if (!settings->quiet && !settings->json) {
    char* const safe = text_safe(shown->path);
    printf("%s: %s\n",
           safe ? safe : "?",
           same ? "as it was" : "open it in a browser to try the sounds");
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
    return say(shown->path, "not enough memory");
  }
  if (!page_end(&page, shown->path, &same)) {
    return false;
  }
  tell(shown, same);
  return true;
}
