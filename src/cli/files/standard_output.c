#include "cli/files/standard_output.h"

#include <errno.h>
#include <unistd.h>

VwStatus
standard_output_write(const VwBytes* bytes) {
  size_t n_done = 0;
  while (n_done < bytes->n_bytes) {
    const ssize_t n =
      write(STDOUT_FILENO, bytes->data + n_done, bytes->n_bytes - n_done);
    if (n < 0 && errno != EINTR) {
      return errno == ENOSPC ? VW_DISK_FULL : VW_WRITE_FAILED;
    }
    n_done += n > 0 ? (size_t)n : 0U;
  }
  return VW_OK;
}
