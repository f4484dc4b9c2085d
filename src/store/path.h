#ifndef VW_PATH_H
#define VW_PATH_H

#include <stddef.h>

/// The part of a path after its last slash. Points into `path`.
const char* vw_path_name(const char* path);

/**
 * The path of another name in the folder of `path`: `before`, `name` and
 * `after` joined.
 *
 * @return A new text to be freed with free(), or NULL without memory.
 */
char* vw_path_sibling(const char* path,
                      const char* before,
                      const char* name,
                      const char* after);

/// The path of a name in a folder; one of both may be empty. To be freed with
/// free(), or NULL without memory.
char* vw_path_join(const char* folder, const char* name);

#endif
