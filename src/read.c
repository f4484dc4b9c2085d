#include "riff.h"
#include "utf8.h"

#include "volleyweave/volleyweave.h"

#include <sndfile.h>

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SECONDS_MOST 600.0
#define CHANNELS_MOST 8
#define RATE_LEAST_HZ 4000
#define RATE_MOST_HZ 384000

VwReadOptions
vw_read_defaults(void) {
  return (VwReadOptions){SECONDS_MOST};
}

static VwStatus
status_of_errno(int error) {
  switch (error) {
    case ENOENT:
    case ENOTDIR:
      return VW_MISSING;
    case ENOMEM:
      return VW_NO_MEMORY;
    default:
      return VW_UNREADABLE;
  }
}

/// Open a regular file with something in it; never waits for a pipe.
static VwStatus
open_regular(const char* path, int* fd) {
  struct stat status;
  if (!vw_utf8_is_valid(path)) {
    return VW_NAME_NOT_UTF8;
  }
  if (stat(path, &status)) {
    return status_of_errno(errno);
  }
  if (!S_ISREG(status.st_mode)) {
    return VW_NOT_REGULAR;
  }
  if (!status.st_size) {
    return VW_EMPTY;
  }
  *fd = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  return *fd < 0 ? status_of_errno(errno) : VW_OK;
}

/// Whether the file is of the MPEG-4 kind (ISO/IEC 14496-12: `ftyp` first).
static bool
is_mpeg4(int fd) {
  char head[8];
  return pread(fd, head, sizeof(head), 0) == (ssize_t)sizeof(head) &&
         !memcmp(head + 4, "ftyp", 4);
}

/// What is wrong with a WAV header, before the library makes the best of it.
static VwStatus
check_riff(int fd, VwReadFault* fault) {
  VwRiff riff;
  if (!vw_riff_read(fd, &riff)) {
    return VW_OK;
  }
  if (!riff.n_channels || riff.n_channels > CHANNELS_MOST) {
    return VW_CHANNELS;
  }
  if (riff.rate_hz < RATE_LEAST_HZ || riff.rate_hz > RATE_MOST_HZ) {
    return VW_SAMPLE_RATE;
  }
  if (!riff.has_data || !riff.n_bytes_there || !riff.n_bytes_promised) {
    return VW_NO_FRAMES;
  }
  if (riff.n_block && riff.n_bytes_promised > riff.n_bytes_there) {
    *fault = (VwReadFault){riff.n_bytes_promised / riff.n_block,
                           riff.n_bytes_there / riff.n_block,
                           riff.rate_hz};
    return VW_CUT_SHORT;
  }
  return VW_OK;
}

static VwStatus
status_of_library(SNDFILE* file) {
  switch (sf_error(file)) {
    case SF_ERR_UNRECOGNISED_FORMAT:
      return VW_NOT_AUDIO;
    case SF_ERR_SYSTEM:
      return VW_UNREADABLE;
    case SF_ERR_UNSUPPORTED_ENCODING:
      return VW_CONTAINER;
    default:
      return VW_DAMAGED;
  }
}

static VwStatus
check_info(const SF_INFO* info, const VwReadOptions* options) {
  if (info->channels < 1 || info->channels > CHANNELS_MOST) {
    return VW_CHANNELS;
  }
  if (info->samplerate < RATE_LEAST_HZ || info->samplerate > RATE_MOST_HZ) {
    return VW_SAMPLE_RATE;
  }
  if (info->frames <= 0) {
    return VW_NO_FRAMES;
  }
  return (double)info->frames > options->seconds_max * info->samplerate
           ? VW_TOO_LONG
           : VW_OK;
}

static VwStatus
read_frames(SNDFILE*       file,
            const SF_INFO* info,
            VwSound*       sound,
            VwReadFault*   fault) {
  VwSound  out = {0};
  VwStatus st = vw_sound_init(&out,
                              (size_t)info->frames,
                              (unsigned)info->channels,
                              (unsigned)info->samplerate);
  if (st) {
    return st;
  }
  const sf_count_t n_read = sf_readf_float(file, out.values, info->frames);
  if (n_read < info->frames) {
    vw_sound_clear(&out);
    *fault = (VwReadFault){(uint64_t)info->frames,
                           (uint64_t)(n_read > 0 ? n_read : 0),
                           (unsigned)info->samplerate};
    return VW_CUT_SHORT;
  }
  *sound = out;
  return VW_OK;
}

static VwStatus
read_open(int                  fd,
          const VwReadOptions* options,
          VwSound*             sound,
          VwReadFault*         fault) {
  VwStatus st = is_mpeg4(fd) ? VW_CONTAINER : check_riff(fd, fault);
  if (st) {
    return st;
  }
  SF_INFO  info = {0};
  SNDFILE* file = sf_open_fd(fd, SFM_READ, &info, SF_FALSE);
  if (!file) {
    return status_of_library(NULL);
  }
  // Sound that was compressed may exceed full scale; scaled to floats as it is
  // nothing of it is lost.
  st = check_info(&info, options);
  st = st ? st : read_frames(file, &info, sound, fault);
  sf_close(file);
  return st;
}

VwStatus
vw_read(const char*          path,
        const VwReadOptions* options,
        VwSound*             sound,
        VwReadFault*         fault) {
  assert(path && options && sound);
  int         fd = -1;
  VwReadFault found = {0};
  VwStatus    st = open_regular(path, &fd);
  if (!st) {
    st = read_open(fd, options, sound, &found);
    close(fd);
  }
  if (st == VW_CUT_SHORT && fault) {
    *fault = found;
  }
  return st;
}
