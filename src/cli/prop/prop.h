/// @file
/// A prop: its sounds, what to make of them, and how they differ by board.
///
/// A prop file has sections `[prop]`, `[sound NAME]` and `[sound NAME on
/// BOARD]`. Its keys are the long options of the commands that make sounds, and
/// a few of its own.
#ifndef VW_CLI_PROP_H
#define VW_CLI_PROP_H

#include "cli/options/options.h"
#include "cli/options/settings.h"
#include "pack/pack.h"

/// Most takes of one sound.
#define PROP_TAKES_MOST 64U

/// An option given as a key.
typedef struct {
  const Option* option;
  char*         value; ///< Owned.
  unsigned      line;
} PropOption;

/// What may stand in the section of a sound.
typedef struct {
  unsigned    make_line; ///< 0: it does not say what to make.
  VwMake      make;
  unsigned    burst_shots; ///< Of #VW_MAKE_BURST.
  unsigned    slot_line;   ///< 0: it gives no slot.
  unsigned    slot;
  unsigned    level_line; ///< 0: it gives no level.
  double      level_lu;
  char*       group;   ///< Owned; NULL: it gives none.
  PropOption* options; ///< Owned.
  size_t      n_options;
} PropKeys;

/// What is different on one board.
typedef struct {
  char*    sound; ///< Its name. Owned.
  char*    board; ///< Owned.
  unsigned line;
  size_t   index; ///< Of the sound.
  PropKeys keys;
} PropOn;

/// A sound.
typedef struct {
  char*       section; ///< What stands between the brackets. Owned.
  const char* name;    ///< Points into `section`.
  char*       remark;  ///< Lines above a section that was guessed. Owned.
  unsigned    line;
  char**      takes; ///< Where they are, seen from here. Owned.
  unsigned    lines[PROP_TAKES_MOST]; ///< Where each stands.
  size_t      n_takes;
  bool        missing; ///< A take of it is not there, and that was said.
  PropKeys    keys;
  size_t      first_on; ///< Its first in the prop's `ons`.
  size_t      n_ons;
} PropSound;

/// A prop. Starts all zero.
typedef struct {
  char*      path;   ///< Of its file, or NULL. Owned.
  char*      name;   ///< Or NULL. Owned.
  char**     boards; ///< Names. Owned.
  size_t     n_boards;
  unsigned   boards_line;
  double     loudness_found_lufs; ///< Of the last pack, or NaN.
  PropKeys   keys;                ///< For all sounds: options alone.
  PropSound* sounds;              ///< In the order of the file. Owned.
  size_t     n_sounds;
  PropOn*    ons; ///< In the order of the sounds. Owned.
  size_t     n_ons;
} Prop;

/**
 * Read a prop file and prove it; all faults are said, each with its line.
 *
 * @param prop Filled in on success; free with prop_clear().
 * @return False where there are faults; a take that is missing is said, but is
 * none.
 */
bool prop_read(const char* path, Prop* prop);

/// Add a sound, by its section and where in it the name begins. NULL without
/// memory.
PropSound* prop_add(Prop*       prop,
                    const char* section,
                    size_t      at_name,
                    unsigned    line);

/// Add a take, which is taken over. False without memory, or where there are as
/// many as there can be.
bool prop_add_take(PropSound* sound, char* take, unsigned line);

/// Add a board, named in so many bytes. False without memory.
bool prop_add_board(Prop* prop, const char* name, size_t n_name);

/// Free what a sound owns.
void prop_sound_clear(PropSound* sound);

/// Free what `prop` owns. NULL is accepted.
void prop_clear(Prop* prop);

#endif
