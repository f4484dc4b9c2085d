// Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: the
// `smpl` chunk. A loop's end counts itself.

#include "chunk.h"

#include "volleyweave/volleyweave.h"

#include <fcntl.h>
#include <unistd.h>

// Where the fields lie in the chunk.
#define N_LOOPS_AT 28U
#define START_AT 44U
#define END_AT 48U

static bool
find_loop(int fd, size_t* start, size_t* end) {
  VwChunk chunk = vw_chunk_start(fd, false);
  while (vw_chunk_next(&chunk)) {
    if (vw_chunk_is(&chunk, "smpl") &&
        vw_chunk_number(&chunk, N_LOOPS_AT, 4U)) {
      *start = (size_t)vw_chunk_number(&chunk, START_AT, 4U);
      *end = (size_t)vw_chunk_number(&chunk, END_AT, 4U) + 1U;
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
