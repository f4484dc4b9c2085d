#include "support/terminals.h"

#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#define WORDS_MOST 64U

/// Open one whose lines end as they are written.
static bool
open_terminal(const TestTerminal* terminal, int* there, int* here) {
  struct winsize size = {.ws_row = 24, .ws_col = terminal->n_columns};
  struct termios ways;
  if (openpty(here, there, NULL, NULL, &size) || tcgetattr(*there, &ways)) {
    return false;
  }
  ways.c_oflag &= ~(tcflag_t)OPOST;
  return !tcsetattr(*there, TCSANOW, &ways);
}

/// In the new process: become the program.
static void
become(const char* line, int out, int err) {
  char  called[] = RUN_CALLED;
  char* words[WORDS_MOST] = {called};
  char* rest = strdup(line);
  for (size_t n = 1; rest && n + 1U < WORDS_MOST; ++n) {
    words[n] = strtok_r(NULL, " ", &rest);
  }
  if (dup2(out, STDOUT_FILENO) >= 0 && dup2(err, STDERR_FILENO) >= 0) {
    (void)execv(getenv("VOLLEYWEAVE"), words);
  }
  _exit(127);
}

/// All that a file has, or a terminal gets until nobody has it open any more.
static char*
read_all(int fd, size_t* n_bytes) {
  char*   bytes = NULL;
  size_t  n = 0;
  char    part[4096];
  ssize_t n_part = 0;
  while ((n_part = read(fd, part, sizeof(part))) > 0) {
    char* const more = realloc(bytes, n + (size_t)n_part + 1U);
    if (!more) {
      break;
    }
    memcpy(more + n, part, (size_t)n_part);
    bytes = more;
    n += (size_t)n_part;
    bytes[n] = '\0';
  }
  *n_bytes = n;
  return bytes ? bytes : calloc(1U, 1U);
}

Run
terminal_run(const TestTerminal* terminal, const char* line) {
  Run         run = {.status = -1};
  FILE* const other = tmpfile();
  int         there = -1;
  int         here = -1;
  int         ended = 0;
  if (!other || !open_terminal(terminal, &there, &here)) {
    perror("no terminal");
    exit(1);
  }
  const int   aside = fileno(other);
  const pid_t pid = fork();
  if (pid == 0) {
    (void)close(here);
    become(
      line, terminal->errors ? aside : there, terminal->errors ? there : aside);
  }
  (void)close(there);
  run.out = read_all(here, &run.n_out);
  if (waitpid(pid, &ended, 0) == pid && WIFEXITED(ended)) {
    run.status = WEXITSTATUS(ended);
  }
  (void)lseek(aside, 0, SEEK_SET);
  run.err = read_all(aside, &run.n_err);
  (void)close(here);
  (void)fclose(other);
  if (terminal->errors) {
    run = (Run){run.status, run.err, run.n_err, run.out, run.n_out};
  }
  return run;
}

/// Whether a byte goes on with a character of UTF-8.
static bool
goes_on(char byte) {
  return ((unsigned char)byte & 0xC0U) == 0x80U;
}

size_t
terminal_columns(const char* text) {
  size_t n = 0;
  for (; *text && *text != '\n' && *text != '\r'; ++text) {
    n += goes_on(*text) ? 0U : 1U;
  }
  return n;
}

const char*
terminal_at(const char* line, size_t column) {
  for (; column && *line && *line != '\n'; --column) {
    do {
      ++line;
    } while (goes_on(*line));
  }
  return line;
}
