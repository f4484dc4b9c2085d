#include "card/card.h"

#include "store/store.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

VwStatus
vw_card_status(int error) {
  switch (error) {
    case EIO:
    case ENODEV:
    case ENXIO:
    case ENOTCONN:
    case ESTALE:
      return VW_CARD_GONE;
    default:
      return vw_file_status(error);
  }
}

VwStatus
vw_card_check(const VwDelivery* delivery) {
  struct stat status;
  // Where a card was mounted is an empty folder after it.
  return !stat(delivery->to, &status) &&
             (uint64_t)status.st_dev == delivery->device &&
             (uint64_t)status.st_ino == delivery->folder
           ? VW_OK
           : VW_CARD_GONE;
}

VwStatus
vw_card_room(const char* path, VwCardRoom* room) {
  struct statvfs system;
  if (statvfs(path, &system)) {
    return vw_card_status(errno);
  }
  const uint64_t cluster = system.f_frsize ? system.f_frsize : 1U;
  *room =
    (VwCardRoom){cluster, system.f_blocks * cluster, system.f_bavail * cluster};
  return VW_OK;
}

VwStatus
vw_card_sync(const char* folder) {
  const int fd = open(folder, O_RDONLY | O_CLOEXEC);
  if (fd < 0) {
    return vw_card_status(errno);
  }
  // Some file systems sync no folders, and say so.
  const bool failed = fsync(fd) && errno != EINVAL;
  const int  error = errno;
  (void)close(fd);
  return failed ? vw_card_status(error) : VW_OK;
}

VwStatus
vw_card_at(VwDelivery* delivery, char* path, VwStatus status) {
  free(delivery->at);
  delivery->at = path;
  return status;
}
