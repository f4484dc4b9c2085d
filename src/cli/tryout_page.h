/// @file
/// A page on which sounds can be tried: one file, everything in it.
#ifndef VW_CLI_TRYOUT_PAGE_H
#define VW_CLI_TRYOUT_PAGE_H

#include "json_text.h"

#include <volleyweave/volleyweave.h>

/// What the page lays a burst anew from. Nothing in it is owned.
typedef struct {
  const VwSound*         alone; ///< The shot, its level kept.
  const VwTakeUse*       use;
  const VwFamilyOptions* options; ///< As the burst was made.
  double                 fire_rate_per_s;
  const char*            command; ///< What goes before the page's own options.
  const char*            take;    ///< What goes after them.
} TryoutRelay;

/// A sound of the page. Nothing in it is owned.
typedef struct {
  const char*        name;
  const char*        group;   ///< Or NULL.
  unsigned           slot;    ///< 1 and up; 0: none.
  const char*        error;   ///< Why there is nothing to hear, or NULL.
  const char*        made_by; ///< What makes its files again, or NULL.
  const char*        report;  ///< As --json has it, or NULL.
  const VwRehearsal* single;  ///< The single shot, or NULL.
  const VwRehearsal* rapid;   ///< The rapid fire, or NULL.
  const TryoutRelay* relay;   ///< Or NULL.
  uint64_t           n_bytes; ///< Of its files.
} TryoutSound;

/// What all sounds of a page have in common. Nothing in it is owned.
typedef struct {
  const char*    title;
  const VwBoard* board;
  bool           board_known; ///< It was named, not assumed.
  double         speaker_hz;  ///< Corner of the small speaker.
} TryoutHead;

/// Begin a page.
void tryout_page_begin(JsonText* page, const TryoutHead* head);

/// Add a sound to it.
void tryout_page_add(JsonText* page, const TryoutSound* sound);

/// End it; `text` is then the whole file, or NULL without memory.
void tryout_page_end(JsonText* page);

#endif
