#include "cli/message/terminal.h"

#include <stdlib.h>
#include <sys/ioctl.h>
#include <unistd.h>

// Where neither the system nor the person says how wide it is.
#define USUAL_COLUMNS 80U

/// What COLUMNS asks for (POSIX.1-2008, 8.3), 0 where it asks for nothing.
static size_t
columns_wanted(void) {
  const char* const text = getenv("COLUMNS");
  char*             end = NULL;
  const long        wanted = text ? strtol(text, &end, 10) : 0;
  return wanted > 0 && !*end ? (size_t)wanted : 0U;
}

static size_t
columns_there(int fd) {
  struct winsize size = {0};
  return ioctl(fd, TIOCGWINSZ, &size) ? 0U : size.ws_col;
}

size_t
terminal_width(FILE* stream) {
  const int fd = fileno(stream);
  if (fd < 0 || !isatty(fd)) {
    return 0U;
  }
  const size_t wanted = columns_wanted();
  const size_t there = columns_there(fd);
  const size_t least = wanted && wanted < there ? wanted : there;
  return least ? least : wanted ? wanted : USUAL_COLUMNS;
}
