#ifndef VW_DIGEST_H
#define VW_DIGEST_H

#include <stddef.h>
#include <stdint.h>

/// The 64-bit XXH3 digest of bytes: tells a file that was changed, guards
/// against no attack.
uint64_t vw_digest(const void* data, size_t n_bytes);

#endif
