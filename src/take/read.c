#include "base/ranges.h"
#include "base/text.h"
#include "container/container.h"
#include "signal/signal.h"
#include "store/store.h"

#include "volleyweave/volleyweave.h"

#include <sndfile.h>

#include <assert.h>
#include <math.h>
#include <string.h>

#define SECONDS_MOST 600.0

// 10 minutes in stereo at 96 kHz, which take half a gigabyte, and up to six
// times as much on their way to a file.
#define VALUES_MOST 120000000U

// Frames read at first where a file does not say how many it has.
#define FIRST_FRAMES 65536U

VwReadOptions
vw_read_defaults(void) {
  return (VwReadOptions){SECONDS_MOST};
}

/// Open a regular file with something in it.
static VwStatus
open_take(const char* path, VwOpenFile* file) {
  if (!vw_utf8_is_valid(path)) {
    return VW_NAME_NOT_UTF8;
  }
  const VwStatus st = vw_file_open(path, file);
  if (!st && !file->n_bytes) {
    vw_file_close(file);
    return VW_EMPTY;
  }
  return st;
}

/// A file that the library reads, and how much of it may be read.
typedef struct {
  SNDFILE* file;
  SF_INFO  info;
  size_t   n_frames_most;
} Source;

// Streams of which nobody knew the end when they began.
static bool
has_unknown_length(const Source* source) {
  return source->info.frames == SF_COUNT_MAX;
}

static bool
are_too_many(const Source* source, uint64_t n_frames) {
  return n_frames > VALUES_MOST / (unsigned)source->info.channels;
}

static VwStatus
check_info(const Source* source) {
  const SF_INFO* const info = &source->info;
  if (!vw_is_within(info->channels, (VwRange)VW_RANGE_TAKE_CHANNELS)) {
    return VW_CHANNELS;
  }
  if (!vw_is_within(info->samplerate, (VwRange)VW_RANGE_SAMPLE_RATE_HZ)) {
    return VW_SAMPLE_RATE;
  }
  if (info->frames <= 0) {
    return VW_NO_FRAMES;
  }
  if (has_unknown_length(source)) {
    return VW_OK;
  }
  return (uint64_t)info->frames > source->n_frames_most ? VW_TOO_LONG
         : are_too_many(source, (uint64_t)info->frames) ? VW_TOO_MANY_VALUES
                                                        : VW_OK;
}

/* The bytes of a file: what cannot be read, the library makes the best of */

/// What the library reads: the lead, and the file's bytes behind it.
typedef struct {
  VwOpenFile* file;
  VwLead      lead;
  sf_count_t  at; ///< Of the byte that is read next, the lead's first is 0.
} Bytes;

static sf_count_t
bytes_length(void* bytes) {
  const VwLead* const lead = &((const Bytes*)bytes)->lead;
  return (sf_count_t)(lead->n_bytes + lead->end - lead->from);
}

static sf_count_t
bytes_seek(sf_count_t offset, int whence, void* bytes) {
  Bytes* const of = bytes;
  of->at = offset + (whence == SEEK_CUR   ? of->at
                     : whence == SEEK_END ? bytes_length(bytes)
                                          : 0);
  return of->at;
}

static sf_count_t
bytes_tell(void* bytes) {
  return ((const Bytes*)bytes)->at;
}

/// Read from the lead or from the file, whichever comes next.
static sf_count_t
read_some(Bytes* of, unsigned char* to, sf_count_t n) {
  const sf_count_t n_lead = (sf_count_t)of->lead.n_bytes;
  const sf_count_t left =
    (of->at < n_lead ? n_lead : bytes_length(of)) - of->at;
  const size_t most = (size_t)(left < n ? left : n);
  size_t       n_read = left > 0 ? most : 0U;
  if (n_read && of->at < n_lead) {
    memcpy(to, of->lead.bytes + of->at, most);
  } else if (n_read) {
    const uint64_t at = of->lead.from + (uint64_t)(of->at - n_lead);
    n_read = vw_file_get(of->file, to, most, at);
  }
  of->at += (sf_count_t)n_read;
  return (sf_count_t)n_read;
}

static sf_count_t
bytes_read(void* to, sf_count_t n, void* bytes) {
  const sf_count_t n_first = read_some(bytes, to, n);
  return n_first + read_some(bytes, (unsigned char*)to + n_first, n - n_first);
}

/* A file of unknown length */

/// Make room for twice as many frames.
static VwStatus
widen(VwSound* sound) {
  VwSound        wide = {0};
  const VwStatus st = vw_sound_part(sound, 0, 2U * sound->n_frames, &wide);
  if (!st) {
    vw_sound_clear(sound);
    *sound = wide;
  }
  return st;
}

/// Read up to the end, of which nothing is known; widens `sound` as needed.
static VwStatus
read_to_end(const Source* source, VwSound* sound) {
  size_t   n_read = 0;
  VwStatus st = VW_OK;
  while (!st) {
    const sf_count_t n =
      sf_readf_float(source->file,
                     sound->values + n_read * sound->n_channels,
                     (sf_count_t)(sound->n_frames - n_read));
    n_read += n > 0 ? (size_t)n : 0U;
    if (n_read > source->n_frames_most) {
      st = VW_TOO_LONG;
    } else if (are_too_many(source, n_read)) {
      st = VW_TOO_MANY_VALUES;
    } else if (n_read < sound->n_frames) {
      break;
    } else {
      st = widen(sound);
    }
  }
  sound->n_frames = n_read;
  return st ? st : n_read ? VW_OK : VW_NO_FRAMES;
}

static VwStatus
read_all(const Source* source, VwSound* sound, VwReadFault* fault) {
  const sf_count_t n_frames = source->info.frames;
  const sf_count_t n = sf_readf_float(source->file, sound->values, n_frames);
  if (n < n_frames) {
    *fault = (VwReadFault){
      (uint64_t)n_frames, (uint64_t)(n > 0 ? n : 0), sound->rate_hz};
    return VW_CUT_SHORT;
  }
  return VW_OK;
}

static VwStatus
read_frames(const Source* source, VwSound* sound, VwReadFault* fault) {
  const bool unknown = has_unknown_length(source);
  VwSound    out = {0};
  VwStatus   st =
    vw_sound_init(&out,
                  unknown ? FIRST_FRAMES : (size_t)source->info.frames,
                  (unsigned)source->info.channels,
                  (unsigned)source->info.samplerate);
  if (!st) {
    st = unknown ? read_to_end(source, &out) : read_all(source, &out, fault);
  }
  if (!st && sf_error(source->file)) {
    st = VW_DAMAGED;
  }
  if (st) {
    vw_sound_clear(&out);
    return st;
  }
  *sound = out;
  return VW_OK;
}

static size_t
frames_most(const VwReadOptions* options, const SF_INFO* info) {
  // More than any file has, and less than a size can say.
  const double beyond = 1e15;
  return (size_t)fmin(fmax(options->seconds_max * info->samplerate, 0.0),
                      beyond);
}

static VwStatus
open_source(Bytes* bytes, Source* source) {
  SF_VIRTUAL_IO io = {bytes_length, bytes_seek, bytes_read, NULL, bytes_tell};
  source->file = sf_open_virtual(&io, SFM_READ, &source->info, bytes);
  // The library's own reason is a global that threads would share.
  return source->file ? VW_OK : vw_header_fault(bytes->file);
}

static VwStatus
read_open(VwOpenFile*          file,
          const VwReadOptions* options,
          VwSound*             sound,
          VwReadFault*         fault) {
  Bytes    bytes = {.file = file};
  Source   source = {0};
  VwStatus st = vw_header_check(file, fault);
  if (!st) {
    bytes.lead = vw_header_lead(file);
    st = open_source(&bytes, &source);
  }
  // Floats are never clipped: compressed sound may exceed full scale.
  if (!st) {
    source.n_frames_most = frames_most(options, &source.info);
    st = check_info(&source);
  }
  st = st ? st : read_frames(&source, sound, fault);
  if (source.file) {
    sf_close(source.file);
  }
  if (file->failed && st != VW_NO_MEMORY) {
    vw_sound_clear(sound);
    st = VW_UNREADABLE;
  }
  return st;
}

VwStatus
vw_read(const char*          path,
        const VwReadOptions* options,
        VwSound*             sound,
        VwReadFault*         fault) {
  assert(path && options && sound);
  VwOpenFile  file = {0};
  VwSound     made = {0};
  VwReadFault found = {0};
  VwStatus    st = open_take(path, &file);
  if (!st) {
    st = read_open(&file, options, &made, &found);
    vw_file_close(&file);
  }
  if (!st) {
    *sound = made;
  }
  if (st == VW_CUT_SHORT && fault) {
    *fault = found;
  }
  return st;
}
