#include "cli/message/terminal.h"

#include <langinfo.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

// Where neither the system nor the person says how wide it is.
#define USUAL_COLUMNS 80U

/// Asked without setting the locale, lest numbers get its decimal comma.
static bool
is_utf8(void) {
  const locale_t locale = newlocale(LC_CTYPE_MASK, "", (locale_t)0);
  if (!locale) {
    return false;
  }
  const bool utf8 = !strcmp(nl_langinfo_l(CODESET, locale), "UTF-8");
  freelocale(locale);
  return utf8;
}

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

Terminal
terminal_of(FILE* stream) {
  const int fd = fileno(stream);
  if (fd < 0 || !isatty(fd)) {
    return (Terminal){0};
  }
  const size_t wanted = columns_wanted();
  const size_t there = columns_there(fd);
  const size_t least = wanted && wanted < there ? wanted : there;
  return (Terminal){least ? least : wanted ? wanted : USUAL_COLUMNS, is_utf8()};
}
