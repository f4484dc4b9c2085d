/// @file
/// A page on which sounds can be tried: one file, everything in it.
#ifndef VW_CLI_TRYOUT_PAGE_H
#define VW_CLI_TRYOUT_PAGE_H

#include "board/board.h"
#include "cli/options/settings.h"
#include "pack/pack.h"
#include "store/store.h"

/// Most characters of sound in a page: what browsers open in a few seconds
/// (measured here). Sounds beyond are listed, but not heard.
#define TRYOUT_HEARD_MOST 64000000U

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
  size_t             board;  ///< Index of its board in the page.
  size_t             family; ///< The same for sounds of the same takes.
  const Settings*    settings;
  const char*        name;
  const char*        group;     ///< Or NULL.
  unsigned           slot;      ///< 1 and up; 0: none.
  const char*        error;     ///< Why there is nothing to hear, or NULL.
  const char*        made_by;   ///< What makes its files again, or NULL.
  const char*        made_with; ///< What a prop asks of it, or NULL.
  const char*        report;    ///< As --json has it, or NULL.
  VwEncoding         encoding;  ///< Of the codes of its files.
  bool               track;     ///< A track in its files switches the lamp.
  const VwRehearsal* single;    ///< The single shot, or NULL.
  const VwRehearsal* rapid;     ///< The rapid fire, or NULL.
  const TryoutRelay* relay;     ///< Or NULL.
  const char*        unlaid;    ///< Why there is no relay, or NULL.
  uint64_t           n_bytes;   ///< Of its files.
} TryoutSound;

/// A board of the page.
typedef struct {
  const VwBoard*    board; ///< Not owned.
  bool              known; ///< It was named, not assumed.
  const VwPackSums* sums;  ///< Of its pack, or NULL. Not owned.
  const char*       error; ///< Why its pack was not made, or NULL. Not owned.
} TryoutBoard;

/// What all sounds of a page have in common. Nothing in it is owned.
typedef struct {
  const char*        title;
  const char*        made_by; ///< What makes all sounds again, or NULL.
  const TryoutBoard* boards;
  size_t             n_boards;
  double             speaker_hz; ///< Corner of the small speaker.
} TryoutHead;

/// A page on its way.
typedef struct {
  VwPour*  to;      ///< Not owned.
  VwStatus status;  ///< Of what did not come from there.
  uint64_t n_heard; ///< Characters of sound in it.
} TryoutPage;

/// Begin a page that goes to `to`.
void tryout_page_begin(TryoutPage* page, const TryoutHead* head, VwPour* to);

/// Add a sound to it.
void tryout_page_add(TryoutPage* page, const TryoutSound* sound);

/**
 * End it, and free what it owns.
 *
 * @param key Of what it was made from, as tryout_page_key() finds it again.
 * @return The first failure of all.
 */
VwStatus tryout_page_end(TryoutPage* page, uint64_t key);

/// The key at the end of a page, or 0 where there is none.
uint64_t tryout_page_key(const char* path);

#endif
