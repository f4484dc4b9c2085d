#include "cli/message/say.h"
#include "cli/start.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

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
  return finish(start(argc > 0 ? argv + 1 : argv));
}
