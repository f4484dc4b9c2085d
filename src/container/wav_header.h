#ifndef VW_WAV_HEADER_H
#define VW_WAV_HEADER_H

#include "container/chunk.h"

#include "volleyweave/volleyweave.h"

#define VW_TAG_PCM 1U
#define VW_TAG_FLOAT 3U
#define VW_TAG_EXTENSIBLE 0xFFFEU

// The least of a `fmt ` chunk, and what a plain one of PCM has.
#define VW_FORMAT_BYTES 16U

/// A chunk that does not belong where it is; its name is empty without one.
typedef struct {
  char     name[5];
  uint64_t n_bytes; ///< With its head.
} VwStray;

/// The loop points of a file.
typedef struct {
  bool     there;   ///< There is such a chunk.
  bool     whole;   ///< It is as long as its loops want.
  uint64_t n_loops; ///< As it says.
  uint64_t type;    ///< Of the first loop; 0: forward.
  uint64_t start;   ///< Its first frame.
  uint64_t last;    ///< Its last frame, which is played.
} VwLoopPoints;

/// What the chunks of a WAV file say, whether it holds or not.
typedef struct {
  bool         is_wave; ///< It starts as a WAV file.
  uint64_t     file_bytes;
  uint64_t     promised_bytes; ///< By its first size, with the 8 before it.
  bool         has_format;     ///< Before the data.
  uint64_t     format_bytes;
  uint64_t     tag;   ///< As written.
  uint64_t     coded; ///< The tag meant, also where that written is 0xFFFE.
  uint64_t     n_channels;
  uint64_t     rate_hz;
  uint64_t     second_bytes;
  uint64_t     block_bytes;
  uint64_t     bits;
  bool         has_data;
  uint64_t     data_at; ///< Of its first byte.
  uint64_t     data_bytes;
  uint64_t     there_bytes; ///< From its first byte to the file's end.
  VwStray      before;      ///< First between the head and the data.
  VwStray      behind;      ///< First after the data, but for loop points.
  VwLoopPoints loop;        ///< After the data.
} VwWavHeader;

/// What a `smpl` chunk says.
VwLoopPoints vw_loop_points_of(const VwChunk* chunk);

/// Read the chunks of an open file; its position is not used and not moved.
VwWavHeader vw_wav_header_read(int fd);

#endif
