// For realpath().
#define _XOPEN_SOURCE 700

#include "cli/textfile/prop_file.h"

#include "cli/files/paths.h"
#include "cli/message/say.h"
#include "cli/message/status.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Names tried for the file until it has its own.
#define TRIES 100U

/* Read */

static bool
is_text(const char* bytes, size_t n_bytes) {
  return !memchr(bytes, '\0', n_bytes) && text_is_utf8(bytes);
}

/// Read what a stream holds, one byte more than allowed at most.
static char*
read_stream(FILE* in, size_t* n_bytes) {
  char* const bytes = malloc(PROP_FILE_BYTES_MOST + 2U);
  if (bytes) {
    *n_bytes = fread(bytes, 1, PROP_FILE_BYTES_MOST + 1U, in);
    bytes[*n_bytes] = '\0';
  }
  return bytes;
}

static bool
check_bytes(const char* path, const char* bytes, size_t n_bytes) {
  if (n_bytes > PROP_FILE_BYTES_MOST) {
    say(path,
        "over 1 MB is no prop file: name the prop file, or a folder of takes");
    return false;
  }
  if (!is_text(bytes, n_bytes)) {
    say(path, "no text in UTF-8: name a prop file, or save it as UTF-8");
    return false;
  }
  return true;
}

/// Open a regular file. NULL, and said, where it is none.
static FILE*
open_file(const char* path) {
  struct stat facts;
  FILE* const in =
    stat(path, &facts) || S_ISREG(facts.st_mode) ? fopen(path, "rb") : NULL;
  if (!in) {
    say_status(path,
               access(path, F_OK) ? VW_MISSING
               : path_is_folder(path) || access(path, R_OK) == 0
                 ? VW_NOT_REGULAR
                 : VW_UNREADABLE);
  }
  return in;
}

char*
prop_file_read(const char* path) {
  FILE* const in = open_file(path);
  if (!in) {
    return NULL;
  }
  size_t     n_bytes = 0;
  char*      bytes = read_stream(in, &n_bytes);
  const bool failed = ferror(in) != 0;
  fclose(in);
  if (!bytes || failed) {
    say_status(path, bytes ? VW_UNREADABLE : VW_NO_MEMORY);
    free(bytes);
    return NULL;
  }
  if (!check_bytes(path, bytes, n_bytes)) {
    free(bytes);
    return NULL;
  }
  return bytes;
}

/* Save */

/// A file on its way to its name.
typedef struct {
  const char* path;   ///< The name it is to have.
  char*       staged; ///< The name it has until then. Owned.
} Stage;

/// Open a file of a name of its own in the folder of the one meant.
static int
open_stage(Stage* stage) {
  const char* const slash = strrchr(stage->path, '/');
  const char* const name = slash ? slash + 1 : stage->path;
  int               file = -1;
  for (unsigned i = 0; file < 0 && i < TRIES; ++i) {
    free(stage->staged);
    stage->staged = text_format("%.*s.%s.%ld-%u",
                                (int)(name - stage->path),
                                stage->path,
                                name,
                                (long)getpid(),
                                i);
    if (!stage->staged) {
      errno = ENOMEM;
      return -1;
    }
    file = open(stage->staged, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0 && errno != EEXIST) {
      break;
    }
  }
  return file;
}

static bool
write_all(int file, const char* text) {
  size_t       n_done = 0;
  const size_t n = strlen(text);
  while (n_done < n) {
    const ssize_t n_now = write(file, text + n_done, n - n_done);
    if (n_now < 0 && errno != EINTR) {
      return false;
    }
    n_done += n_now > 0 ? (size_t)n_now : 0U;
  }
  return !fsync(file);
}

/// Give the new file what the old one had: its permissions, and its owner
/// where that may be done.
static bool
keep_mode(int file, const struct stat* old) {
  const bool owned = !fchown(file, old->st_uid, old->st_gid);
  return !fchmod(file, old->st_mode & (owned ? 07777U : 0777U));
}

/// Write the file and rename it. Returns an error of the system, or 0.
static int
write_and_rename(Stage* stage, const struct stat* old, const char* text) {
  const int file = open_stage(stage);
  if (file < 0) {
    return errno;
  }
  errno = 0;
  const bool written = (!old || keep_mode(file, old)) && write_all(file, text);
  int        error = written ? 0 : errno ? errno : EIO;
  if (close(file) && !error) {
    error = errno;
  }
  if (!error && rename(stage->staged, stage->path)) {
    error = errno;
  }
  if (error) {
    unlink(stage->staged);
  }
  return error;
}

/// The same, with what interrupts the program waiting meanwhile.
static int
save(const char* path, const struct stat* old, const char* text) {
  Stage    stage = {.path = path};
  sigset_t waiting;
  sigset_t before;
  sigemptyset(&waiting);
  sigaddset(&waiting, SIGINT);
  sigaddset(&waiting, SIGTERM);
  sigaddset(&waiting, SIGHUP);
  sigprocmask(SIG_BLOCK, &waiting, &before);
  const int error = write_and_rename(&stage, old, text);
  sigprocmask(SIG_SETMASK, &before, NULL);
  free(stage.staged);
  return error;
}

bool
prop_file_save(const char* path, const char* text) {
  if (strlen(text) > PROP_FILE_BYTES_MOST) {
    say(path, "it would be over 1 MB: split the prop in two");
    return false;
  }
  struct stat old;
  const bool  there = !stat(path, &old);
  char* const real = there ? realpath(path, NULL) : NULL;
  int         error = 0;
  if (there && !S_ISREG(old.st_mode)) {
    say_status(path, VW_NOT_REGULAR);
    free(real);
    return false;
  }
  if (there && access(path, W_OK)) {
    say(path, "may not be written to: allow it, or copy the file");
    free(real);
    return false;
  }
  error = save(real ? real : path, there ? &old : NULL, text);
  free(real);
  if (error) {
    say_status(path, status_of_errno(error));
  }
  return !error;
}
