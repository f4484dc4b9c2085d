#include "paths.h"

#include "say.h"
#include "status.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define DEFAULT_FOLDER "volleyweave-out"

/// A file's name without its folder and its ending.
typedef struct {
  const char* start;
  size_t      length;
} Stem;

static Stem
stem_of(const char* path) {
  const char* const slash = strrchr(path, '/');
  const char* const start = slash ? slash + 1 : path;
  const char* const dot = strrchr(start, '.');
  // A dot in front hides a file; it starts no ending.
  const size_t length =
    dot && dot > start ? (size_t)(dot - start) : strlen(start);
  return (Stem){start, length};
}

static bool
ends_in(const char* path, const char* ending) {
  const size_t n = strlen(path);
  const size_t n_ending = strlen(ending);
  return n > n_ending && !strcasecmp(path + n - n_ending, ending);
}

bool
path_is_folder(const char* path) {
  struct stat facts;
  return !stat(path, &facts) && S_ISDIR(facts.st_mode);
}

bool
path_same_stem(const char* a, const char* b) {
  const Stem stem_a = stem_of(a);
  const Stem stem_b = stem_of(b);
  return stem_a.length == stem_b.length &&
         !strncasecmp(stem_a.start, stem_b.start, stem_a.length);
}

/// Put a low line for what no folder's list and no card takes in a name.
static char*
without_controls(char* path, size_t from) {
  for (char* at = path ? path + from : NULL; at && *at; ++at) {
    const unsigned char byte = (unsigned char)*at;
    *at = byte < 0x20U || byte == 0x7FU ? '_' : *at;
  }
  return path;
}

char*
path_of_part(const Destination* destination, const char* take, VwPart part) {
  if (destination->kind != TO_FOLDER) {
    return text_format("%s", destination->path);
  }
  const Stem        stem = stem_of(take);
  const size_t      n = strlen(destination->path);
  const char* const slash = destination->path[n - 1U] == '/' ? "" : "/";
  // A sound that is only converted has no siblings to be told from.
  const bool  alone = part == VW_PART_WHOLE;
  char* const path = text_format("%s%s%.*s%s%s.wav",
                                 destination->path,
                                 slash,
                                 (int)stem.length,
                                 stem.start,
                                 alone ? "" : ".",
                                 alone ? "" : vw_part_name(part));
  return without_controls(path, n);
}

/* Choose */

/// The folder in which an output is to lie, or NULL for the present one.
static char*
parent_of(const char* path) {
  char* const parent = text_format("%s", path);
  size_t      n = parent ? strlen(parent) : 0U;
  while (n > 1U && parent[n - 1U] == '/') {
    parent[--n] = '\0';
  }
  char* const slash = parent ? strrchr(parent, '/') : NULL;
  if (!slash) {
    free(parent);
    return NULL;
  }
  slash[slash == parent ? 1 : 0] = '\0';
  return parent;
}

/// Say it where an output has no folder to lie in.
static int
check_parent(const char* path) {
  char* const parent = parent_of(path);
  const bool  there = !parent || path_is_folder(parent);
  if (!there) {
    say_status(parent, access(parent, F_OK) ? VW_NO_FOLDER : VW_NOT_A_FOLDER);
  }
  free(parent);
  return there ? EXIT_DONE : EXIT_FILE;
}

static DestinationKind
kind_of(const char* path) {
  struct stat facts;
  if (!strcmp(path, "-")) {
    return TO_STDOUT;
  }
  if (!stat(path, &facts)) {
    return S_ISDIR(facts.st_mode) ? TO_FOLDER : TO_FILE;
  }
  return path[strlen(path) - 1U] != '/' && ends_in(path, ".wav") ? TO_FILE
                                                                 : TO_FOLDER;
}

/// Formats that a name may promise and that are not written.
static bool
promises_other_format(const char* path) {
  static const char* const endings[] = {".mp3",
                                        ".ogg",
                                        ".oga",
                                        ".flac",
                                        ".aif",
                                        ".aiff",
                                        ".m4a",
                                        ".aac",
                                        ".opus",
                                        ".raw",
                                        ".pcm",
                                        ".wave",
                                        ".wma"};
  for (size_t i = 0; i < sizeof(endings) / sizeof(endings[0]); ++i) {
    if (ends_in(path, endings[i])) {
      return !path_is_folder(path);
    }
  }
  return false;
}

static int
refuse_many(const CommandName* command,
            const Settings*    settings,
            size_t             n_files) {
  char list[64] = "";
  for (int part = VW_PART_SHOT; part <= VW_PART_WHOLE; ++part) {
    if (settings_write(command, settings, (VwPart)part)) {
      strcat(list, *list ? ", " : "");
      strcat(list, vw_part_name((VwPart)part));
    }
  }
  char* const shown = text_format("-o %s", settings->output);
  const bool  pick = !settings->has_part && command->bit == COMMAND_LOOP;
  say(shown ? shown : "-o",
      "one file, but %zu would be made: %s%s%s%s",
      n_files,
      pick ? "pick one of them with --part (" : "name a folder instead",
      pick ? list : "",
      pick ? "), or name a folder instead" : "",
      pick && settings->n_takes > 1U ? ", and give one take" : "");
  free(shown);
  return EXIT_USAGE;
}

static int
check_one_file(const CommandName* command, const Settings* settings) {
  const size_t n_files = settings_n_files(command, settings);
  if (n_files > 1U) {
    return refuse_many(command, settings, n_files);
  }
  if (!strcmp(settings->output, "-") && !settings->dry_run &&
      isatty(STDOUT_FILENO)) {
    return say_usage("-o -",
                     "sound is nothing for a terminal: send it through a pipe "
                     "or name a file");
  }
  return EXIT_DONE;
}

int
destination_choose(const CommandName* command,
                   const Settings*    settings,
                   Destination*       destination) {
  const char* const output =
    settings->output ? settings->output : DEFAULT_FOLDER;
  *destination = (Destination){.kind = kind_of(output), .path = output};
  if (promises_other_format(output)) {
    return say_usage(output, "only WAV is written: let the name end in .wav");
  }
  if (!settings->output && destination->kind != TO_FOLDER) {
    say_status(output, VW_NOT_A_FOLDER);
    return EXIT_FILE;
  }
  if (destination->kind != TO_STDOUT && check_parent(output)) {
    return EXIT_FILE;
  }
  return destination->kind == TO_FOLDER ? EXIT_DONE
                                        : check_one_file(command, settings);
}

/* Open and close */

static VwStatus
status_of_errno(void) {
  switch (errno) {
    case EEXIST:
      return VW_OK;
    case ENOENT:
      return VW_NO_FOLDER;
    case ENOTDIR:
      return VW_NOT_A_FOLDER;
    case EACCES:
    case EPERM:
    case EROFS:
      return VW_FOLDER_READONLY;
    case ENOSPC:
    case EDQUOT:
      return VW_DISK_FULL;
    default:
      return VW_WRITE_FAILED;
  }
}

VwStatus
destination_open(Destination* destination) {
  if (destination->kind != TO_FOLDER) {
    return VW_OK;
  }
  if (!mkdir(destination->path, 0777)) {
    destination->made = true;
    return VW_OK;
  }
  return status_of_errno();
}

void
destination_close(Destination* destination) {
  if (destination->made && !rmdir(destination->path)) {
    destination->made = false;
  }
}
