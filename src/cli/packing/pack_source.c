#include "cli/packing/pack_source.h"

#include "cli/files/paths.h"
#include "cli/message/say.h"
#include "cli/prop/prop_guess.h"
#include "cli/prop/prop_unused.h"
#include "cli/prop/take_folder.h"
#include "cli/textfile/prop_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Write a guess to the folder's prop file, and read it from there.
static bool
write_and_read(const Settings* settings,
               const char*     path,
               const char*     text,
               PackSource*     source) {
  if (!prop_file_save(path, text) || !prop_read(path, &source->prop)) {
    return false;
  }
  if (!settings->quiet) {
    say(path, "written: from now on the sounds are as it says");
  }
  return true;
}

static bool
guess(const Settings* settings, const char* path, PackSource* source) {
  PropGuess got = {0};
  if (!prop_guess(source->folder, settings, &got)) {
    return false;
  }
  const bool write = settings->pack.write_prop && !settings->dry_run;
  const bool good = write ? write_and_read(settings, path, got.text, source)
                          : prop_read_text(path, got.text, &source->prop);
  source->n_failed = got.n_failed;
  free(got.text);
  return good;
}

/// Refuse to write a guess where there is a prop file.
static int
refuse_guess(const char* path) {
  return say_usage("--write-prop",
                   "%s is there already, and is what the pack goes by: leave "
                   "the option out, or move the file away",
                   path);
}

static int
read_folder(const Settings* settings, PackSource* source) {
  const char* const folder = source->folder;
  const size_t      n = strlen(folder);
  char* const       path =
    text_format("%s%sprop.ini", folder, n && folder[n - 1U] == '/' ? "" : "/");
  int status = EXIT_FILE;
  if (!path) {
    say(folder, "not enough memory");
  } else if (access(path, F_OK)) {
    status = guess(settings, path, source) ? EXIT_DONE : EXIT_FILE;
  } else if (settings->pack.write_prop) {
    status = refuse_guess(path);
  } else {
    status = prop_read(path, &source->prop) ? EXIT_DONE : EXIT_FILE;
    if (status == EXIT_DONE && !settings->quiet) {
      prop_unused_warn(&source->prop, folder);
    }
  }
  free(path);
  return status;
}

int
pack_source_read(const Settings* settings, PackSource* source) {
  const char* const path = settings->takes[0];
  *source = (PackSource){0};
  if (settings->n_takes > 1U) {
    return say_usage(settings->takes[1],
                     "one prop file or folder is packed at a time: name %s "
                     "alone, or write a prop file that names all takes",
                     path);
  }
  if (path_is_folder(path)) {
    source->folder = path;
    return read_folder(settings, source);
  }
  if (take_folder_promises(path)) {
    return say_usage(path,
                     "a sound, where a prop file is meant: name the folder "
                     "that it lies in, or make it alone with `volleyweave "
                     "loop`");
  }
  if (settings->pack.write_prop) {
    return access(path, F_OK)
             ? say_usage("--write-prop", "name the folder of takes to go by")
             : refuse_guess(path);
  }
  return prop_read(path, &source->prop) ? EXIT_DONE : EXIT_FILE;
}

void
pack_source_clear(PackSource* source) {
  if (source) {
    prop_clear(&source->prop);
    *source = (PackSource){0};
  }
}
