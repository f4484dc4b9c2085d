#include "digest.h"

#include <xxhash.h>

uint64_t
vw_digest(const void* data, size_t n_bytes) {
  return XXH3_64bits(data, n_bytes);
}
