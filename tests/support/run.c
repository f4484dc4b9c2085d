#include "support/run.h"

#include "support/folder.h"
#include "support/printed.h"
#include "support/said.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define WORDS_MOST 64U

// The user "nobody" of most systems; any user but root will do.
#define NOBODY 65534U

// What a shell and the loader say of a program that they cannot run.
#define CANNOT_RUN 127

extern char** environ;

static char*
text(const char* start, const char* end) {
  const size_t n = strlen(start) + strlen(end) + 1U;
  char* const  joined = malloc(n);
  if (joined) {
    (void)snprintf(joined, n, "%s%s", start, end);
  }
  return joined;
}

/* Folder */

void
run_set_up(int argc, char** argv) {
  char        here[PATH_MAX] = "";
  const bool  whole = argc > 1 && argv[1][0] == '/';
  char* const start = getcwd(here, sizeof(here)) ? text(here, "/") : NULL;
  char* const program = argc > 1 ? text(whole ? "" : start, argv[1]) : NULL;
  char* const folder = folder_make();
  if (!program || !folder || chdir(folder) ||
      setenv("VOLLEYWEAVE", program, 1) || chmod(".", 0755) ||
      // Nobody's settings but the test's own.
      setenv("XDG_CONFIG_HOME", folder, 1) ||
      setenv("XDG_CONFIG_DIRS", folder, 1) || unsetenv("VOLLEYWEAVE_BOARD")) {
    perror("cannot set up: give the program's path");
    exit(1);
  }
  free(folder);
  free(program);
  free(start);
}

void
remove_all(const char* folder) {
  DIR* const     entries = opendir(folder);
  struct dirent* entry = NULL;
  char* const    start = text(folder, "/");
  while (entries && start && (entry = readdir(entries))) {
    if (strcmp(entry->d_name, ".") && strcmp(entry->d_name, "..")) {
      char* const path = text(start, entry->d_name);
      if (unlink(path)) {
        remove_all(path);
      }
      free(path);
    }
  }
  free(start);
  if (entries) {
    (void)closedir(entries);
  }
  (void)rmdir(folder);
}

void
run_tear_down(void) {
  char folder[PATH_MAX] = "";
  if (getcwd(folder, sizeof(folder)) && !chdir("/")) {
    remove_all(folder);
  }
  if (printed_count()) {
    printf("%zu printed commands, of which %zu failed\n",
           printed_count(),
           printed_failed());
  }
  if (said_count()) {
    printf("%zu messages, of which %zu are too long or have no remedy\n",
           said_count(),
           said_failed());
  }
  if (printed_failed() || said_failed()) {
    exit(1);
  }
}

size_t
count_files(const char* folder) {
  DIR* const     entries = opendir(folder);
  struct dirent* entry = NULL;
  size_t         n = 0;
  while (entries && (entry = readdir(entries))) {
    n += strcmp(entry->d_name, ".") && strcmp(entry->d_name, "..");
  }
  if (entries) {
    (void)closedir(entries);
  }
  return n;
}

/* Run */

/// All bytes of an open file, ended by a zero.
static char*
read_stream(FILE* stream, size_t* n_bytes) {
  (void)fseek(stream, 0, SEEK_END);
  const long   end = ftell(stream);
  const size_t n = end > 0 ? (size_t)end : 0U;
  char* const  bytes = calloc(n + 1U, 1U);
  rewind(stream);
  *n_bytes = bytes ? fread(bytes, 1U, n, stream) : 0U;
  return bytes;
}

/// Wait for a program's end.
static int
wait_for(pid_t pid) {
  int ended = 0;
  return waitpid(pid, &ended, 0) == pid && WIFEXITED(ended) ? WEXITSTATUS(ended)
                                                            : -1;
}

/// Where the program lies that is called so.
static const char*
path_of(const char* const* words) {
  return strcmp(words[0], RUN_CALLED) ? words[0] : getenv("VOLLEYWEAVE");
}

/// Start a program and wait for its end.
static int
spawn_and_wait(const char* const* words,
               const char*        out_path,
               FILE*              out,
               FILE*              err) {
  posix_spawn_file_actions_t actions;
  pid_t                      pid = 0;
  posix_spawn_file_actions_init(&actions);
  if (out_path) {
    posix_spawn_file_actions_addopen(
      &actions, STDOUT_FILENO, out_path, O_WRONLY, 0);
  } else {
    posix_spawn_file_actions_adddup2(&actions, fileno(out), STDOUT_FILENO);
  }
  posix_spawn_file_actions_adddup2(&actions, fileno(err), STDERR_FILENO);
  // The words are not changed; the interface is older than const.
  char* const* const arguments = (char* const*)(const void*)words;
  const int          failed =
    posix_spawn(&pid, path_of(words), &actions, NULL, arguments, environ);
  posix_spawn_file_actions_destroy(&actions);
  return failed ? -1 : wait_for(pid);
}

/// The same as another user, who gets no rights back.
static int
fork_and_wait(const char* const* words, FILE* out, FILE* err) {
  const pid_t pid = fork();
  if (pid == 0) {
    char* const* const arguments = (char* const*)(const void*)words;
    if (dup2(fileno(out), STDOUT_FILENO) >= 0 &&
        dup2(fileno(err), STDERR_FILENO) >= 0 && !setgid(NOBODY) &&
        !setuid(NOBODY)) {
      (void)execv(path_of(words), arguments);
    }
    _exit(CANNOT_RUN);
  }
  return pid < 0 ? CANNOT_RUN : wait_for(pid);
}

static Run
run_words(const char* const* words, const char* out_path, bool as_nobody) {
  Run         result = {.status = -1};
  FILE* const out = tmpfile();
  FILE* const err = tmpfile();
  if (out && err) {
    result.status = as_nobody ? fork_and_wait(words, out, err)
                              : spawn_and_wait(words, out_path, out, err);
    result.out = read_stream(out, &result.n_out);
    result.err = read_stream(err, &result.n_err);
  }
  if (out) {
    (void)fclose(out);
  }
  if (err) {
    (void)fclose(err);
  }
  const char* const command = words[1] ? words[1] : "";
  if (result.err) {
    said_try(command, result.err, false);
  }
  if (result.out && !strcmp(command, "check") && result.status == 3 &&
      *result.out != '{') {
    said_try(command, result.out, true);
  }
  return result;
}

static Run
run_line(const char* line, const char* out_path, bool as_nobody) {
  const char* words[WORDS_MOST] = {RUN_CALLED};
  char* const copy = text(line, "");
  size_t      n = 1;
  char*       rest = NULL;
  char*       word = strtok_r(copy, " ", &rest);
  for (; word && n + 1U < WORDS_MOST; word = strtok_r(NULL, " ", &rest)) {
    words[n++] = word;
  }
  const Run result = run_words(words, out_path, as_nobody);
  free(copy);
  return result;
}

Run
run(const char* line) {
  const Run made = run_line(line, NULL, false);
  // What a program reads has no commands.
  if (made.out && made.err && !strstr(line, "--json")) {
    printed_try(line, made.out);
    printed_try(line, made.err);
  }
  return made;
}

Run
run_into(const char* path, const char* line) {
  return run_line(line, path, false);
}

Run
run_shell(const char* line) {
  const char* const words[] = {"/bin/sh", "-c", line, NULL};
  return run_words(words, NULL, false);
}

bool
run_as_nobody(const char* line, Run* result) {
  *result = run_line(line, NULL, geteuid() == 0);
  return result->status != CANNOT_RUN;
}

Run
run_with_card(const char* options, const char* line) {
  char shell[1024];
  (void)snprintf(shell,
                 sizeof(shell),
                 "unshare -rm sh -c 'mount -t tmpfs -o %s none real || exit "
                 "77; %s'",
                 options,
                 line);
  return run_shell(shell);
}

bool
run_can_mount(void) {
  Run        made = run_with_card("size=64k", "exit 5");
  const bool can = made.status == 5;
  run_clear(&made);
  return can;
}

int
run_catch(void) {
  fflush(stderr);
  FILE* const said = tmpfile();
  const int   before = dup(STDERR_FILENO);
  if (!said || before < 0 || dup2(fileno(said), STDERR_FILENO) < 0) {
    abort();
  }
  fclose(said); // the stream has a name of its own
  return before;
}

char*
run_caught(int before) {
  fflush(stderr);
  const off_t end = lseek(STDERR_FILENO, 0, SEEK_END);
  char* const said = calloc((size_t)end + 1U, 1U);
  if (!said || pread(STDERR_FILENO, said, (size_t)end, 0) != end ||
      dup2(before, STDERR_FILENO) < 0) {
    abort();
  }
  close(before);
  said_try("a function", said, false);
  return said;
}

void
run_clear(Run* result) {
  free(result->out);
  free(result->err);
  *result = (Run){0};
}

/* Look */

bool
run_check(bool good, const Run* result, const char* line) {
  if (!good) {
    fprintf(
      stderr,
      "volleyweave %s\n  exit status %d\n  stdout: %.400s\n  stderr: %s\n",
      line,
      result->status,
      result->out ? result->out : "",
      result->err ? result->err : "");
  }
  return good;
}

static bool
has(const char* text, const char* word) {
  return word ? strstr(text, word) != NULL : !*text;
}

bool
run_gave(Run made, const RunCase* wanted) {
  const bool good = made.status == wanted->status &&
                    has(made.out, wanted->out) && has(made.err, wanted->err);
  run_check(good, &made, wanted->line);
  run_clear(&made);
  return good;
}

bool
is_one_line_with(const char* lines, const char* word) {
  const char* const end = strchr(lines, '\n');
  return !strncmp(lines, "volleyweave: ", 13U) && end && !end[1] &&
         strstr(lines, word);
}

char*
read_file(const char* path, size_t* n_bytes) {
  FILE* const stream = fopen(path, "rb");
  char* const bytes = stream ? read_stream(stream, n_bytes) : NULL;
  if (stream) {
    (void)fclose(stream);
  }
  return bytes;
}

bool
has_bytes(const char* path, const char* bytes, size_t n_bytes) {
  size_t      n = 0;
  char* const there = read_file(path, &n);
  const bool  same = there && n == n_bytes && !memcmp(there, bytes, n);
  free(there);
  return same;
}

int
run_enter_folder(void** state) {
  (void)state;
  return mkdir("work", 0777) || chdir("work");
}

int
run_leave_folder(void** state) {
  (void)state;
  const int failed = chdir("..");
  remove_all("work");
  return failed;
}
