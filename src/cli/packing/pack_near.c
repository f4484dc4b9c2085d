#include "cli/packing/pack_near.h"

#include "cli/message/say.h"
#include "store/store.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

bool
pack_near_is_ours(const char* folder) {
  char* const list = vw_path_join(folder, VW_LEDGER_NAME);
  const bool  ours = list && !access(list, F_OK);
  free(list);
  return ours;
}

bool
pack_near_refuse_target(const char* folder) {
  char* const path = vw_path_join(folder, VW_LEDGER_NAME);
  char*       text = NULL;
  // Other commands keep such a list too, but not of a pack.
  const bool pack =
    path && !vw_ledger_read(path, &text) && text && !strncmp(text, "pack ", 5U);
  free(text);
  free(path);
  if (pack) {
    say(folder,
        "this is a pack, and no card: did you swap them? The pack comes first, "
        "then --to and the card");
  }
  return pack;
}

/// Whether a name in a folder is that of a pack, not of one being made or of
/// the one before.
static bool
is_pack(const char* folder, const char* name) {
  const char* const dot = strrchr(name, '.');
  char* const       path = vw_path_join(folder, name);
  const bool        pack =
    path && name[0] != '.' && pack_near_is_ours(path) &&
    (!dot || (strcmp(dot, ".before") && strcmp(dot, ".making")));
  free(path);
  return pack;
}

bool
pack_near_refuse(const char* path) {
  DIR* const folder = pack_near_is_ours(path) ? NULL : opendir(path);
  bool       refused = false;
  if (!folder) {
    return false;
  }
  for (const struct dirent* entry = readdir(folder); entry && !refused;
       entry = readdir(folder)) {
    if (is_pack(path, entry->d_name)) {
      say(path,
          "packs lie in folders of it: did you mean %s/%s?",
          path,
          entry->d_name);
      refused = true;
    }
  }
  (void)closedir(folder);
  return refused;
}
