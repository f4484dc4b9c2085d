#include "cli/prop/prop_hint.h"

#include <stddef.h>
#include <string.h>

const char*
prop_hint(const char* key) {
  static const struct {
    const char* key;
    const char* hint;
  } hints[] = {
    {"burst", "write make = burst 3, say"},
    {"take-turns", "several takes of a loop take turns anyway: leave it out"},
    {"gap", "it is the board's: write it into the board's file"},
    {"buffer", "it is the board's: write it into the board's file"},
    {"include", "there are no includes: put all sounds into one file"},
    {"board", "write boards = NAME under [prop]"},
    {"file", "write take = FILE"},
    {"files", "write take = FILE, a line for each"},
    {"takes", "write take = FILE, a line for each"},
    {"json", "it belongs on the command line"},
    {"quiet", "it belongs on the command line"},
    {"output", "it belongs on the command line"},
    {"force", "it belongs on the command line"},
    {"dry-run", "it belongs on the command line"},
  };
  for (size_t i = 0; i < sizeof(hints) / sizeof(hints[0]); ++i) {
    if (!strcmp(hints[i].key, key)) {
      return hints[i].hint;
    }
  }
  return NULL;
}
