#include "base/text.h"
#include "cli/message/message.h"

#include <stdlib.h>
#include <sys/ioctl.h>
#include <unistd.h>

// Where neither the system nor the person says how wide it is.
#define USUAL_COLUMNS 80U

// Text that flows on is set in so far; what is narrower breaks it itself.
#define FLOW_INDENT 2
#define FLOW_COLUMNS_LEAST 20U

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

/// Where a line of so many columns ends: before a blank, or at the text's end.
static size_t
line_end(const char* text, size_t n_columns) {
  size_t end = 0;
  size_t column = 0;
  for (size_t i = 0;; ++column) {
    const unsigned n = vw_utf8_read(text + i, NULL);
    if (text[i] == ' ' || !text[i]) {
      // A word that is too long for any line is left whole.
      if (end && column > n_columns) {
        return end;
      }
      end = i;
      if (!text[i]) {
        return end;
      }
    }
    i += n ? n : 1U;
  }
}

void
line_flow(FILE* out, const char* text) {
  const size_t width = terminal_width(out);
  // The last column stays free: some terminals begin a new line behind it.
  const size_t n_columns = width > FLOW_COLUMNS_LEAST ? width - 1U : (size_t)-1;
  size_t       n = line_end(text, n_columns);
  fprintf(out, "%.*s\n", (int)n, text);
  while (text[n]) {
    text += n + 1U;
    n = line_end(text, n_columns - FLOW_INDENT);
    fprintf(out, "%*s%.*s\n", FLOW_INDENT, "", (int)n, text);
  }
}

void
line_flow_made(char* text) {
  line_flow(stdout, text ? text : "not enough memory");
  free(text);
}
