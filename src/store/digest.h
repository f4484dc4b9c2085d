#ifndef VW_DIGEST_H
#define VW_DIGEST_H

#include <stddef.h>
#include <stdint.h>

/// The 64-bit XXH3 digest of bytes: tells a file that was changed, guards
/// against no attack.
uint64_t vw_digest(const void* data, size_t n_bytes);

/// A digest of bytes that come one after the other.
typedef struct VwDigester VwDigester;

/// A digest of nothing yet, to be freed with vw_digester_free(); NULL without
/// memory.
VwDigester* vw_digester_new(void);

/// Add bytes.
void vw_digester_add(VwDigester* digester, const void* data, size_t n_bytes);

/// What vw_digest() would say of all of them.
uint64_t vw_digester_value(const VwDigester* digester);

/// NULL is accepted.
void vw_digester_free(VwDigester* digester);

#endif
