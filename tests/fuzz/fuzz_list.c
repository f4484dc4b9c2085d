// The list in a folder: what it says of a file, and of a pack.

#include "fuzz/fuzz.h"
#include "pack/internal.h"
#include "store/store.h"

#include <stdlib.h>
#include <string.h>

/// Files of a pack lie in its folder, or in one of its folders.
static void
prove_inside(const VwPackList* list) {
  for (size_t i = 0; i < list->n_files; ++i) {
    const char* const name = list->files[i].name;
    if (name[0] == '/' || !strncmp(name, "../", 3) || strstr(name, "/../")) {
      abort();
    }
  }
}

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t n_bytes) {
  const VwLedgerEntry entry = {.path = "zap.wav", .digest = 1U};
  VwPackList          list = {0};
  VwBytes             text = {0};
  VwMade              made;
  VwLoopKnown         known;
  fuzz_put("zap.wav", "x", 1U);
  fuzz_put(VW_LEDGER_NAME, data, n_bytes);
  if (!vw_pack_list_read(".", &list)) {
    prove_inside(&list);
  }
  (void)vw_is_own_output("zap.wav");
  (void)vw_is_own_take("zap.wav");
  (void)vw_is_made_otherwise("zap.wav");
  (void)vw_made_as("zap.wav", &made);
  (void)vw_made_loop("zap.wav", &known);
  (void)vw_ledger_with(&entry, 1U, &text);
  vw_bytes_clear(&text);
  vw_pack_list_clear(&list);
  return 0;
}
