#include "cli/boards/config.h"

#include "cli/message/text.h"

#include <stdlib.h>
#include <string.h>

#define OURS "volleyweave"

/// A variable that names a folder, or NULL: those not from the root on do not
/// count.
static const char*
folder_in(const char* variable) {
  const char* const value = getenv(variable);
  return value && value[0] == '/' ? value : NULL;
}

char*
config_of_user(const char* name) {
  const char* const config = folder_in("XDG_CONFIG_HOME");
  const char* const home = folder_in("HOME");
  return config ? text_format("%s/" OURS "/%s", config, name)
         : home ? text_format("%s/.config/" OURS "/%s", home, name)
                : NULL;
}

char*
config_of_system(size_t index, const char* name) {
  const char* const set = getenv("XDG_CONFIG_DIRS");
  const char*       at = set && *set ? set : "/etc/xdg";
  for (size_t i = 0; *at;) {
    const size_t n = strcspn(at, ":");
    if (*at == '/' && i++ == index) {
      return text_format("%.*s/" OURS "/%s", (int)n, at, name);
    }
    at += n + (at[n] ? 1U : 0U);
  }
  return NULL;
}
