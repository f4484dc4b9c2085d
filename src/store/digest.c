#include "store/digest.h"

#include <xxhash.h>

#include <stdlib.h>

struct VwDigester {
  XXH3_state_t* state; ///< Owned.
};

uint64_t
vw_digest(const void* data, size_t n_bytes) {
  return XXH3_64bits(data, n_bytes);
}

VwDigester*
vw_digester_new(void) {
  VwDigester* const digester = malloc(sizeof(VwDigester));
  if (!digester) {
    return NULL;
  }
  digester->state = XXH3_createState();
  if (!digester->state || XXH3_64bits_reset(digester->state) != XXH_OK) {
    vw_digester_free(digester);
    return NULL;
  }
  return digester;
}

void
vw_digester_add(VwDigester* digester, const void* data, size_t n_bytes) {
  (void)XXH3_64bits_update(digester->state, data, n_bytes);
}

uint64_t
vw_digester_value(const VwDigester* digester) {
  return XXH3_64bits_digest(digester->state);
}

void
vw_digester_free(VwDigester* digester) {
  if (digester) {
    (void)XXH3_freeState(digester->state);
    free(digester);
  }
}
