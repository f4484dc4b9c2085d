#include "say.h"
#include "start.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/// Open what is closed of the standard streams, lest a sound file take its
/// place and get the report.
static void
hold_standard_streams(void) {
  int fd = 0;
  while (fd >= 0 && fd <= STDERR_FILENO) {
    fd = open("/dev/null", O_RDONLY);
  }
  if (fd >= 0) {
    (void)close(fd);
  }
}

/// Close standard output: only then is it sure that all of it was written.
static int
finish(int status) {
  const int failed = ferror(stdout);
  errno = 0;
  if (!fclose(stdout) && !failed) {
    return status;
  }
  say("standard output",
      "cannot be written, %s: send it to another place",
      errno ? strerror(errno) : "some of it is lost");
  return status == EXIT_DONE ? EXIT_FILE : status;
}

int
main(int argc, char** argv) {
  hold_standard_streams();
  return finish(start(argc > 0 ? argv + 1 : argv));
}
