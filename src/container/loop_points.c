#include "container/container.h"
#include "container/wav_header.h"

#include "volleyweave/volleyweave.h"

#include <fcntl.h>
#include <unistd.h>

static bool
find_loop(int fd, size_t* start, size_t* end) {
  VwChunk chunk = vw_chunk_start(fd, false);
  while (vw_chunk_next(&chunk)) {
    const VwLoopPoints loop = vw_chunk_is(&chunk, "smpl")
                                ? vw_loop_points_of(&chunk)
                                : (VwLoopPoints){0};
    if (loop.n_loops) {
      *start = (size_t)loop.start;
      *end = (size_t)loop.last + 1U;
      return *end > *start;
    }
  }
  return false;
}

bool
vw_read_loop_points(const char* path, size_t* start, size_t* end) {
  // Without a writer, opening a pipe would wait for one.
  const int fd = open(path, O_RDONLY | O_NONBLOCK);
  char      name[4] = "";
  size_t    first = 0;
  size_t    after = 0;
  if (fd < 0) {
    return false;
  }
  const bool found =
    pread(fd, name, sizeof(name), 0) == (ssize_t)sizeof(name) &&
    name[0] == 'R' && name[1] == 'I' && name[2] == 'F' && name[3] == 'F' &&
    find_loop(fd, &first, &after);
  (void)close(fd);
  if (found) {
    *start = first;
    *end = after;
  }
  return found;
}
