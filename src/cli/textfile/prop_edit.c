#include "cli/textfile/prop_edit.h"

#include "cli/message/status.h"
#include "cli/message/text.h"
#include "cli/textfile/ini_line.h"
#include "cli/textfile/prop_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// A section of a text.
typedef struct {
  const char* name;
  size_t      n_name;
  const char* start; ///< Behind the line of its name.
  const char* last;  ///< Behind its last line with a key.
  const char* end;   ///< Where the next one starts, or the text ends.
} Place;

/// Bytes to put in the place of others.
typedef struct {
  const char* at;
  size_t      n_removed;
  char*       text; ///< Owned; may be NULL.
  size_t      order;
} Splice;

/// A text under change.
typedef struct {
  const char* text;
  Place*      places; ///< Sorted by name. Owned.
  size_t      n_places;
  Splice*     splices; ///< Owned.
  size_t      n_splices;
  size_t      n_splices_most;
  bool        failed; ///< No memory was left.
} Editor;

/* Sections */

static int
compare_names(const void* a, const void* b) {
  const Place* const one = a;
  const Place* const two = b;
  const size_t       n = one->n_name < two->n_name ? one->n_name : two->n_name;
  const int          order = memcmp(one->name, two->name, n);
  return order ? order
               : (one->n_name > two->n_name) - (one->n_name < two->n_name);
}

static int
compare_places(const void* a, const void* b) {
  const Place* const one = a;
  const Place* const two = b;
  const int          order = compare_names(a, b);
  return order ? order : (one->start > two->start) - (one->start < two->start);
}

static size_t
count_sections(const char* text) {
  size_t n = 0;
  for (IniLine line = ini_line_first(text); *line.start;
       line = ini_line_at(line.next)) {
    n += ini_line_section(line).start ? 1U : 0U;
  }
  return n;
}

static void
find_sections(Editor* editor) {
  Place*  place = NULL;
  IniLine line = ini_line_first(editor->text);
  for (; *line.start; line = ini_line_at(line.next)) {
    const IniLine name = ini_line_section(line);
    if (name.start) {
      place = place ? place + 1 : editor->places;
      *place =
        (Place){name.start, name.length, line.next, line.next, line.next};
    } else if (place) {
      place->end = line.next;
      place->last = ini_line_key(line).start ? line.next : place->last;
    }
  }
  qsort(editor->places, editor->n_places, sizeof(Place), compare_places);
}

static const Place*
find_place(const Editor* editor, const char* name) {
  const Place wanted = {.name = name, .n_name = strlen(name)};
  size_t      low = 0;
  size_t      high = editor->n_places;
  while (low < high) {
    const size_t middle = low + (high - low) / 2U;
    if (compare_names(&editor->places[middle], &wanted) < 0) {
      low = middle + 1U;
    } else {
      high = middle;
    }
  }
  const Place* const place = &editor->places[low];
  return low < editor->n_places && !compare_names(place, &wanted) ? place
                                                                  : NULL;
}

/* Changes */

static bool
is_word(IniLine word, const char* name) {
  return word.start && strlen(name) == word.length &&
         !memcmp(word.start, name, word.length);
}

static void
add_splice(Editor* editor, const char* at, size_t n_removed, char* text) {
  if (editor->n_splices == editor->n_splices_most) {
    const size_t  most = 2U * editor->n_splices_most + 64U;
    Splice* const more = realloc(editor->splices, most * sizeof(Splice));
    if (!more) {
      editor->failed = true;
      free(text);
      return;
    }
    editor->splices = more;
    editor->n_splices_most = most;
  }
  editor->splices[editor->n_splices] =
    (Splice){at, n_removed, text, editor->n_splices};
  ++editor->n_splices;
}

/// The line's end that the text uses.
static const char*
ending_of(const char* text) {
  const char* const feed = strchr(text, '\n');
  return feed && feed > text && feed[-1] == '\r' ? "\r\n" : "\n";
}

/// Add a line at a place; where the line before it has no end, it gets one.
static void
add_line(Editor* editor, const char* at, const PropEdit* edit) {
  const char* const ending = ending_of(editor->text);
  const bool        open = at > editor->text && at[-1] != '\n';
  char* const       line = text_format("%s%s = %s%s",
                                 open ? ending : "",
                                 edit->key,
                                 edit->value,
                                 open ? "" : ending);
  editor->failed = editor->failed || !line;
  add_splice(editor, at, 0, line);
}

static void
set_key(Editor* editor, const Place* place, const PropEdit* edit) {
  IniLine line = ini_line_at(place->start);
  for (; line.start < place->end; line = ini_line_at(line.next)) {
    if (is_word(ini_line_key(line), edit->key)) {
      const IniLine value = ini_line_value(line);
      char* const   text = text_format("%s", edit->value);
      editor->failed = editor->failed || !text;
      add_splice(editor, value.start, value.length, text);
      return;
    }
  }
  add_line(editor, place->last, edit);
}

/// Whether a word stands in a list whose words are parted by single spaces.
static bool
is_listed(const char* list, IniLine word) {
  for (const char* at = list; *at; at += strspn(at, " ")) {
    const size_t n = strcspn(at, " ");
    if (n == word.length && !memcmp(at, word.start, n)) {
      return true;
    }
    at += n;
  }
  return false;
}

static void
clear_keys(Editor* editor, const Place* place, const PropEdit* edit) {
  IniLine line = ini_line_at(place->start);
  for (; line.start < place->end; line = ini_line_at(line.next)) {
    const IniLine key = ini_line_key(line);
    if (key.start && !is_listed(edit->value, key)) {
      add_splice(editor, line.start, (size_t)(line.next - line.start), NULL);
    }
  }
}

/// Add a line to a section that is not there yet, and that too where `first`.
static void
add_to_new(Editor* editor, const PropEdit* edit, bool first) {
  const char* const end = editor->text + strlen(editor->text);
  const char* const ending = ending_of(editor->text);
  const bool        open = end > editor->text && end[-1] != '\n';
  char* const       text =
    first ? text_format("%s%s[%s]%s%s = %s%s",
                        open ? ending : "",
                        *editor->text ? ending : "",
                        edit->section,
                        ending,
                        edit->key,
                        edit->value,
                        ending)
                : text_format("%s = %s%s", edit->key, edit->value, ending);
  editor->failed = editor->failed || !text;
  add_splice(editor, end, 0, text);
}

static void
make_splices(Editor* editor, const PropEdit* edits, size_t n_edits) {
  const char* newest = NULL;
  for (size_t i = 0; i < n_edits; ++i) {
    const PropEdit* const edit = &edits[i];
    const Place* const    place = find_place(editor, edit->section);
    if (!place && edit->kind != PROP_CLEAR) {
      add_to_new(editor, edit, !newest || strcmp(newest, edit->section) != 0);
      newest = edit->section;
    } else if (place && edit->kind == PROP_SET) {
      set_key(editor, place, edit);
    } else if (place && edit->kind == PROP_ADD) {
      add_line(editor, place->last, edit);
    } else if (place) {
      clear_keys(editor, place, edit);
    }
  }
}

/* Text */

static int
compare_splices(const void* a, const void* b) {
  const Splice* const one = a;
  const Splice* const two = b;
  return one->at != two->at
           ? (one->at > two->at) - (one->at < two->at)
           : (one->order > two->order) - (one->order < two->order);
}

static char*
join(const Editor* editor) {
  char*       text = NULL;
  size_t      n = 0;
  FILE* const out = open_memstream(&text, &n);
  const char* at = editor->text;
  for (size_t i = 0; out && i < editor->n_splices; ++i) {
    const Splice* const splice = &editor->splices[i];
    fwrite(at, 1, (size_t)(splice->at - at), out);
    fputs(splice->text ? splice->text : "", out);
    at = splice->at + splice->n_removed;
  }
  if (!out || fputs(at, out) < 0 || fclose(out)) {
    free(text);
    return NULL;
  }
  return text;
}

char*
prop_edit_text(const char* text, const PropEdit* edits, size_t n_edits) {
  Editor editor = {.text = text, .n_places = count_sections(text)};
  char*  changed = NULL;
  editor.places = calloc(editor.n_places + 1U, sizeof(Place));
  if (editor.places) {
    find_sections(&editor);
    make_splices(&editor, edits, n_edits);
    if (editor.n_splices) {
      qsort(editor.splices, editor.n_splices, sizeof(Splice), compare_splices);
    }
    changed = editor.failed ? NULL : join(&editor);
  }
  for (size_t i = 0; i < editor.n_splices; ++i) {
    free(editor.splices[i].text);
  }
  free(editor.splices);
  free(editor.places);
  return changed;
}

bool
prop_edit_file(const char* path, const PropEdit* edits, size_t n_edits) {
  char* const text = prop_file_read(path);
  char* const changed = text ? prop_edit_text(text, edits, n_edits) : NULL;
  bool        good = changed != NULL;
  if (text && !changed) {
    say_status(path, VW_NO_MEMORY);
  }
  if (good && strcmp(text, changed) != 0) {
    good = prop_file_save(path, changed);
  }
  free(text);
  free(changed);
  return good;
}
