// For tsearch().
#define _XOPEN_SOURCE 700

#include "cli/prop/prop_guess.h"

#include "cli/boards/board_file.h"
#include "cli/files/input.h"
#include "cli/message/say.h"
#include "cli/message/status.h"
#include "cli/message/text.h"
#include "cli/packing/threads.h"
#include "cli/prop/take_folder.h"
#include "cli/textfile/ini_file.h"
#include "cli/textfile/prop_path.h"

#include <math.h>
#include <search.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// A line of a prop file holds 197 bytes.
#define NAME_BYTES_MOST 120U

/// What a take is.
typedef struct {
  VwStatus    status;
  char*       message; ///< Why it cannot be used. Owned.
  bool        has_shot;
  VwShotFacts facts;
} Finding;

/// A guess being written.
typedef struct {
  FILE*           out;
  void*           names; ///< Those given so far, as a tree.
  PropGuess*      guess;
  bool            failed;   ///< No memory was left.
  const Settings* settings; ///< Their boards are written down.
} Writer;

/* Names */

static int
compare_names(const void* a, const void* b) {
  return strcasecmp(a, b);
}

/// Whether a name is new, whatever its capital letters; it is taken over then.
static bool
is_new(Writer* writer, char* name) {
  char* const* const node = tsearch(name, &writer->names, compare_names);
  writer->failed = writer->failed || !node;
  return node && *node == name;
}

static void
free_names(Writer* writer) {
  while (writer->names) {
    char* const name = *(char**)writer->names;
    tdelete(name, &writer->names, compare_names);
    free(name);
  }
}

/// Length of a text of so many bytes, cut short between two characters.
static size_t
shortened(const char* text, size_t n_text) {
  size_t n = 0;
  while (n < n_text && text_utf8_length(text + n) &&
         n + text_utf8_length(text + n) <= NAME_BYTES_MOST) {
    n += text_utf8_length(text + n);
  }
  return n < n_text ? n : n_text;
}

char*
prop_guess_name(const char* stem, size_t n_stem) {
  char* const name = text_format("%.*s", (int)shortened(stem, n_stem), stem);
  for (char* at = name; at && *at; ++at) {
    if (text_is_control(*at) || strchr("[]#;\"=", *at)) {
      *at = '_';
    }
    if (!strncmp(at, " on ", 4)) {
      *at = '-'; // else a board's name would follow
      at[3] = '-';
    }
  }
  const size_t blanks = name ? strspn(name, " ") : 0U;
  size_t       n = name ? strlen(name) : 0U;
  if (name) {
    memmove(name, name + blanks, n - blanks + 1U);
    n -= blanks;
  }
  while (n && name[n - 1U] == ' ') {
    name[--n] = '\0';
  }
  if (name && !n) {
    free(name);
    return text_format("sound");
  }
  return name;
}

/// A name that no other sound has, kept with the others; NULL without memory.
static const char*
new_name(Writer* writer, const char* base, const char* suffix) {
  for (unsigned i = 1; !writer->failed; ++i) {
    char* const name = i == 1U ? text_format("%s%s", base, suffix)
                               : text_format("%s%s-%u", base, suffix, i);
    if (!name) {
      break;
    }
    if (is_new(writer, name)) {
      return name;
    }
    free(name);
  }
  writer->failed = true;
  return NULL;
}

static char*
base_of(const FolderTake* take) {
  const char* const slash = strrchr(take->path, '/');
  const char* const start = slash ? slash + 1 : take->path;
  const char* const dot = strrchr(start, '.');
  return prop_guess_name(
    start, dot && dot > start ? (size_t)(dot - start) : strlen(start));
}

/* Sounds */

static void
write_sound(Writer*           writer,
            const FolderTake* take,
            const char*       name,
            const char*       make) {
  char* const file = prop_path_value(take->path + take->at_name);
  char* const plain =
    prop_guess_name(take->path + take->at_name, take->n_group);
  char* const group = plain ? ini_quote(plain) : NULL;
  if (!name || !file || !group) {
    writer->failed = true;
  } else {
    fprintf(writer->out, "[sound %s]\ntake = %s\n%s\n", name, file, make);
    if (take->n_group) {
      fprintf(writer->out, "group = %s\n", group);
    }
    fputs("\n", writer->out);
    ++writer->guess->n_sounds;
  }
  free(file);
  free(plain);
  free(group);
}

static void
write_remark(Writer* writer, const Finding* found) {
  const double fastest = found->facts.fastest_fire_rate_per_s;
  const char*  kind =
    found->has_shot ? vw_kind_name(found->facts.kind) : "no shot in it";
  fprintf(writer->out, "# %s", kind);
  if (found->has_shot && found->facts.shots_in_take > 1U) {
    fprintf(
      writer->out, ", %u of them: one is taken", found->facts.shots_in_take);
  }
  if (found->has_shot && found->facts.kind != VW_KIND_SUSTAINED) {
    fprintf(writer->out,
            isfinite(fastest) ? "; as it is, it can fire up to %.3g/s\n"
                              : "; it has to be tightened to fire fast\n",
            fastest);
  } else {
    fputs(": played as it is, softer than the shots\n", writer->out);
  }
}

static void
write_take(Writer* writer, const FolderTake* take, const Finding* found) {
  char* const base = base_of(take);
  if (!base) {
    writer->failed = true;
    return;
  }
  write_remark(writer, found);
  if (found->has_shot && found->facts.kind != VW_KIND_SUSTAINED) {
    write_sound(writer, take, new_name(writer, base, ""), "make = shot");
    write_sound(writer, take, new_name(writer, base, "-rapid"), "make = loop");
  } else {
    write_sound(
      writer, take, new_name(writer, base, ""), "make = whole\nlevel = -6");
  }
  free(base);
}

/// The boards asked for by name; a file may lie elsewhere seen from the prop's.
static void
write_boards(const Writer* writer) {
  const Settings* const settings = writer->settings;
  const char*           before = "boards = ";
  for (size_t i = 0; i < settings->n_given; ++i) {
    const Given* const given = &settings->given[i];
    if (!strcmp(given->name, "board") && strcmp(given->value, "none") != 0 &&
        !board_file_is_path(given->value)) {
      fprintf(writer->out, "%s%s", before, given->value);
      before = ", ";
    }
  }
  fputs(*before == ',' ? "\n" : "# boards = wav-22k-mono\n", writer->out);
}

static void
write_top(Writer* writer, const char* folder) {
  char* const plain = prop_guess_name(folder, strlen(folder));
  size_t      n = plain ? strlen(plain) : 0U;
  while (n > 1U && plain[n - 1U] == '/') {
    plain[--n] = '\0';
  }
  const char* const slash = plain ? strrchr(plain, '/') : NULL;
  char* const       name =
    plain ? ini_quote(slash && slash[1] ? slash + 1 : plain) : NULL;
  fprintf(
    writer->out,
    "# The sounds of a prop. `volleyweave pack FILE`, with the name of this\n"
    "# file, makes them for its boards. A line with # in front is a remark.\n"
    "#\n"
    "# Each sound has a section: its take (a file, seen from this one), what "
    "to\n"
    "# make of it (shot, loop, burst 3 or whole), and whatever option is to\n"
    "# differ from the others: fire-rate = 9/s, valley = 12, level = -3.\n"
    "# [sound NAME on BOARD] tells what is different on one board.\n"
    "# All keys: man volleyweave-prop, or man man/volleyweave-prop.5 in the\n"
    "# program's own folder.\n"
    "\n"
    "[prop]\n"
    "name = %s\n",
    name ? name : "prop");
  write_boards(writer);
  fputs("# loudness = -16\n# speaker = 40mm\n\n", writer->out);
  free(name);
  free(plain);
}

/* Takes */

static void
examine(const FolderTake* take, const Settings* settings, Finding* found) {
  // Neither a command that cuts nor one that needs no shot.
  static const CommandName any = {.name = "pack", .bit = 0};
  Input                    input = {0};
  input_load(take->path, &any, settings, &input);
  *found = (Finding){.status = input.status,
                     .message = input.message,
                     .has_shot = input.has_shot,
                     .facts = input.facts};
  input.message = NULL;
  input_clear(&input);
}

/// Whether a file is no sound, and its name promises none.
static bool
is_other(const FolderTake* take, const Finding* found) {
  return !take->promised &&
         (found->status == VW_NOT_AUDIO || found->status == VW_EMPTY);
}

static void
write_all(Writer* writer, const TakeFolder* takes, const Finding* findings) {
  for (size_t i = 0; i < takes->n_takes; ++i) {
    const FolderTake* const take = &takes->takes[i];
    const Finding* const    found = &findings[i];
    char* const             value =
      found->status ? NULL : prop_path_value(take->path + take->at_name);
    if (value) {
      write_take(writer, take, found);
    } else if (!found->status) {
      ++writer->guess->n_failed;
    } else if (!is_other(take, found)) {
      say(take->path, "%s", found->message ? found->message : "failed");
      ++writer->guess->n_failed;
    }
    free(value);
  }
}

/// Write the guess as text; NULL without memory.
static char*
write_text(Writer*           writer,
           const char*       folder,
           const TakeFolder* takes,
           const Finding*    findings) {
  char*  text = NULL;
  size_t n = 0;
  writer->out = open_memstream(&text, &n);
  if (writer->out) {
    write_top(writer, folder);
    write_all(writer, takes, findings);
    writer->failed = fclose(writer->out) || writer->failed;
  }
  free_names(writer);
  if (writer->failed || !writer->out) {
    free(text);
    return NULL;
  }
  return text;
}

static bool
guess_all(const char*       folder,
          const TakeFolder* takes,
          const Settings*   settings,
          PropGuess*        guess) {
  Finding* const findings = calloc(takes->n_takes + 1U, sizeof(Finding));
  if (findings) {
#pragma omp parallel for schedule(dynamic) num_threads(threads_count(settings))
    for (size_t i = 0; i < takes->n_takes; ++i) {
      examine(&takes->takes[i], settings, &findings[i]);
    }
    Writer writer = {.guess = guess, .settings = settings};
    guess->text = write_text(&writer, folder, takes, findings);
    for (size_t i = 0; i < takes->n_takes; ++i) {
      free(findings[i].message);
    }
  }
  free(findings);
  if (!guess->text) {
    say_status(folder, VW_NO_MEMORY);
  }
  return guess->text != NULL;
}

bool
prop_guess(const char* folder, const Settings* settings, PropGuess* guess) {
  TakeFolder takes = {0};
  *guess = (PropGuess){0};
  bool good = take_folder_list(folder, &takes) &&
              guess_all(folder, &takes, settings, guess);
  if (good && !guess->n_sounds) {
    say(folder,
        "no take in it that can be used: put sound files there, or name "
        "another folder");
    free(guess->text);
    guess->text = NULL;
    good = false;
  }
  take_folder_clear(&takes);
  return good;
}
