/// @file
/// A page's file while it is written. Whatever interrupts the program waits
/// until nothing is left half done.
#ifndef VW_CLI_PAGE_FILE_H
#define VW_CLI_PAGE_FILE_H

#include "cli/options/settings.h"
#include "store/store.h"

#include <signal.h>

/// A file on its way.
typedef struct {
  VwPour*  pour;
  sigset_t waited; ///< What waited already before.
} PageFile;

/**
 * Begin a file; page_file_end() then has to follow.
 *
 * @return As vw_pour_begin().
 */
VwStatus page_file_begin(const char*     path,
                         const Settings* settings,
                         PageFile*       file);

/// Whether something waits to interrupt the program: then end without keeping.
bool page_file_is_interrupted(void);

/**
 * Give the file its name, or leave nothing of it; then let through what waited.
 *
 * @return As vw_pour_end(); #VW_OK where it is not kept.
 */
VwStatus page_file_end(PageFile* file, bool keep);

#endif
