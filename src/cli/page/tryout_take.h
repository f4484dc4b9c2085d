/// @file
/// From a take to a sound of the page.
#ifndef VW_CLI_TRYOUT_TAKE_H
#define VW_CLI_TRYOUT_TAKE_H

#include "cli/options/settings.h"
#include "cli/page/tryout_page.h"

/**
 * Make what `loop` makes of a take, and add it to a page; a take that cannot be
 * used is added with the reason, which is said too.
 *
 * @param index Of the take among all.
 * @return False where it cannot be used.
 */
bool tryout_take_add(const Settings* settings, size_t index, TryoutPage* page);

#endif
