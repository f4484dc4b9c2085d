#include "container/container.h"
#include "container/formats.h"

#include <string.h>
#include <unistd.h>

/// What bytes at some place make of a file.
typedef struct {
  size_t      at;
  const char* bytes;
  size_t      n_bytes;
  VwStatus (*check)(int fd, VwReadFault* fault);
} Mark;

static VwStatus
accept(int fd, VwReadFault* fault) {
  (void)fd;
  (void)fault;
  return VW_OK;
}

static VwStatus
refuse_container(int fd, VwReadFault* fault) {
  (void)fd;
  (void)fault;
  return VW_CONTAINER;
}

// Marks of formats after their standards; that of Matroska: RFC 9559.
static const Mark marks[] = {
  {8, "WAVE", 4, vw_riff_check},
  {8, "AIFF", 4, vw_aiff_check},
  {8, "AIFC", 4, vw_aiff_check},
  {0, "fLaC", 4, accept},
  {0, "OggS", 4, vw_ogg_check},
  {0, "ID3", 3, vw_mp3_check},
  {0, "\xFF\xFB", 2, vw_mp3_check},
  {0, "\xFF\xFA", 2, vw_mp3_check},
  {0, "\xFF\xF3", 2, vw_mp3_check},
  {0, "\xFF\xF2", 2, vw_mp3_check},
  {0, "\xFF\xE3", 2, vw_mp3_check},
  {4, "ftyp", 4, refuse_container},
  {4, "moov", 4, refuse_container},
  {4, "mdat", 4, refuse_container},
  {8, "AVI ", 4, refuse_container},
  {0, "\x1A\x45\xDF\xA3", 4, refuse_container},
  {0, "\x30\x26\xB2\x75\x8E\x66\xCF\x11", 8, refuse_container},
};

static const Mark*
find_mark(int fd) {
  char          head[16] = {0};
  const ssize_t n = pread(fd, head, sizeof(head), 0);
  for (size_t i = 0; n > 0 && i < sizeof(marks) / sizeof(marks[0]); ++i) {
    const Mark* const mark = &marks[i];
    if (!memcmp(head + mark->at, mark->bytes, mark->n_bytes)) {
      return mark;
    }
  }
  return NULL;
}

VwStatus
vw_header_check(int fd, VwReadFault* fault) {
  const Mark* const mark = find_mark(fd);
  return mark ? mark->check(fd, fault) : VW_OK;
}

VwLead
vw_header_lead(int fd) {
  const Mark* const mark = find_mark(fd);
  return mark && mark->check == vw_mp3_check ? vw_mp3_lead(fd) : (VwLead){0};
}

VwStatus
vw_header_fault(int fd) {
  const Mark* const mark = find_mark(fd);
  if (!mark) {
    return VW_NOT_AUDIO;
  }
  return mark->check == vw_riff_check && vw_riff_is_uncommon(fd) ? VW_CONTAINER
                                                                 : VW_DAMAGED;
}
