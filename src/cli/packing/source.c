#include "cli/packing/packing.h"

#include "cli/files/files.h"
#include "cli/message/message.h"
#include "cli/prop/prop.h"
#include "container/container.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// Refuse to write a sound list over one that is there.
static int
check_new(const char* path) {
  if (!access(path, F_OK)) {
    return say_usage("--write-list",
                     "%s is there already: remove it, or choose another name",
                     path);
  }
  return path_check_parent(path);
}

static int
guess(const Settings* settings, PackSource* source) {
  const int status = settings->pack.write_list
                       ? check_new(settings->pack.write_list)
                       : EXIT_DONE;
  if (status != EXIT_DONE) {
    return status;
  }
  return prop_guess(source->folder, settings, &source->prop, &source->n_failed)
           ? EXIT_DONE
           : EXIT_FILE;
}

/// Refuse to write a guess where there is a sound list.
static int
refuse_guess(const char* path) {
  return say_usage("--write-list",
                   "%s is there already, and is what the pack goes by: leave "
                   "the option out, or move the file away",
                   path);
}

static int
read_folder(const Settings* settings, PackSource* source) {
  const char* const folder = source->folder;
  char* const       path = vw_path_join(folder, "sounds.ini");
  int               status = EXIT_FILE;
  if (!path) {
    say(folder, NO_MEMORY);
  } else if (access(path, F_OK)) {
    status = guess(settings, source);
  } else if (settings->pack.write_list) {
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
                     "one sound list or folder is packed at a time: name %s "
                     "alone, or write a sound list that names all takes",
                     path);
  }
  if (vw_path_is_folder(path)) {
    source->folder = path;
    return read_folder(settings, source);
  }
  if (vw_name_promises(path) == VW_PROMISE_SOUND) {
    return say_usage(path,
                     "a sound, where a sound list is meant: name the folder "
                     "that it lies in, or make it alone with `volleyweave "
                     "loop`");
  }
  if (settings->pack.write_list) {
    return access(path, F_OK)
             ? say_usage("--write-list", "name the folder of takes to go by")
             : refuse_guess(path);
  }
  return prop_read(path, &source->prop) ? EXIT_DONE : EXIT_FILE;
}

void
pack_source_clear(PackSource* source) {
  prop_clear(&source->prop);
  *source = (PackSource){0};
}
