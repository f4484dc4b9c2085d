#ifndef VW_CHUNK_H
#define VW_CHUNK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// A chunk of an interchange file: a name, a size, and so many bytes.
typedef struct {
  int      fd;         ///< Open file; its position is not used and not moved.
  bool     big_endian; ///< How its numbers are written.
  char     name[4];
  uint64_t at;      ///< Where its bytes start.
  uint64_t n_bytes; ///< As its header says.
  unsigned n_seen;  ///< Chunks so far.
} VwChunk;

/// The first chunk's predecessor: start here, then vw_chunk_next().
VwChunk vw_chunk_start(int fd, bool big_endian);

/// Go on to the next chunk. False where no whole header follows, or where there
/// are so many that it is no honest file.
bool vw_chunk_next(VwChunk* chunk);

/// Whether the chunk has that name of four letters.
bool vw_chunk_is(const VwChunk* chunk, const char* name);

/// A number of `n_bytes` (1 to 8) at `offset` in the chunk, 0 beyond the end.
uint64_t vw_chunk_number(const VwChunk* chunk,
                         unsigned       offset,
                         unsigned       n_bytes);

/// Bytes of the file from the chunk's first on.
uint64_t vw_chunk_bytes_there(const VwChunk* chunk);

#endif
