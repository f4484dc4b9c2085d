/// @file
/// A prop: its sounds, what to make of them, and how they differ by board.
///
/// A sound list has sections `[prop]`, `[lamp]`, `[power]`, `[sound NAME]` and
/// `[sound NAME on BOARD]`. Its keys are the long options of the commands that
/// make sounds, and a few of its own.
#ifndef VW_CLI_PROP_H
#define VW_CLI_PROP_H

#include "board/board.h"
#include "cli/options/ini.h"
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
  char*    path;   ///< Of its file, or NULL. Owned.
  char*    name;   ///< As given, or else after its file or folder. Owned.
  char**   boards; ///< Names. Owned.
  size_t   n_boards;
  unsigned boards_line;
  double   loudness_found_lufs; ///< Of the last pack, or NaN.
  uint32_t loudness_found_of;   ///< For which sounds, by their names; 0: for
                                ///< any.
  PropKeys   keys;              ///< For all sounds: options alone.
  PropKeys   lamp;              ///< How the lamp is built: options alone.
  PropKeys   power;             ///< What plays and feeds it: options alone.
  PropSound* sounds;            ///< In the order of the file. Owned.
  size_t     n_sounds;
  PropOn*    ons; ///< In the order of the sounds. Owned.
  size_t     n_ons;
} Prop;

/**
 * Read a sound list and prove it; all faults are said, each with its line.
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

/* Keys */

/// Which section a key stands in, as bits.
enum { IN_PROP = 1U, IN_SOUND = 2U, IN_ON = 4U, IN_LAMP = 8U, IN_POWER = 16U };

/// What the keys of a section go to.
typedef struct {
  Prop*      prop;
  PropSound* sound; ///< Of #IN_SOUND.
  PropKeys*  keys;
  unsigned   section; ///< One of the bits.
} PropPlace;

/// Put a key's value where it belongs, or say what is wrong with it.
void prop_keys_take(const PropPlace* place,
                    const IniEntry*  line,
                    Faults*          faults);

/// Add an option. False without memory.
bool prop_keys_add(PropKeys*     keys,
                   const Option* option,
                   const char*   value,
                   unsigned      line);

/// Free what `keys` owns.
void prop_keys_clear(PropKeys* keys);

/* Loudness */

/// The loudness to keep to, or NaN: none was found for these sounds.
double prop_loudness_found(const Prop* prop);

/// Print the line that keeps a loudness for these sounds.
void prop_loudness_print(const Prop* prop, double lufs, FILE* out);

/* What is asked */

/// Whether a board of that name is among the prop's, or none is named.
bool prop_is_for(const Prop* prop, const char* board);

/// What is different for a sound on a board, or NULL. `board` may be NULL.
const PropOn* prop_on(const Prop*      prop,
                      const PropSound* sound,
                      const char*      board);

/**
 * Put together what is asked for a sound: the defaults, `[prop]`, the command
 * line, the sound's section, and that for the board, each before the next.
 *
 * @param sound NULL: what is asked for all of them.
 * @param board Name of the board, or NULL.
 * @param line What was given on the command line, or NULL.
 * @return Points into `prop` and `line`, owns nothing.
 */
Settings prop_settings(const Prop*      prop,
                       const PropSound* sound,
                       const char*      board,
                       const Settings*  line);

/// Put how the prop's lamp is built into settings, where the command line does
/// not say it.
void prop_lamp(const Prop* prop, Settings* settings);

/// What the prop says of its power; of the lamp's current its [lamp] too.
VwPowerWish prop_power(const Prop* prop);

/**
 * What is wanted of each sound on a board.
 *
 * @return As many as there are sounds, to be freed; they point into `prop`.
 * NULL without memory.
 */
VwSoundWish* prop_wishes(const Prop*     prop,
                         const char*     board,
                         const Settings* line);

/**
 * Prove that no two sounds have one slot, and that the board has it.
 *
 * @param board Name of the board, or NULL for what holds for any.
 * @param most Highest slot, or 0 where nothing is known of it.
 */
void prop_slots_check(const Prop* prop,
                      const char* board,
                      unsigned    most,
                      Faults*     faults);

/**
 * Give every sound that lacks one the lowest slot that is free on all boards.
 *
 * @param boards Those that are packed for; does nothing where none plays by
 * slots.
 * @return False, and said, if no slot is left.
 */
bool prop_slots_give(Prop* prop, const VwBoard* const* boards, size_t n_boards);

/// Whether a sound has a slot that it was given, and that no file tells.
bool prop_slots_are_given(const Prop* prop);

/* Checks */

/// Prove what no line alone can tell: names, takes, options together.
void prop_check(Prop* prop, Faults* faults);

/**
 * Prove that a board plays what is asked for each sound: its sample rate,
 * channels, bits and form.
 *
 * @param line What was given on the command line, or NULL.
 */
void prop_board_check(const Prop*     prop,
                      const VwBoard*  board,
                      const Settings* line,
                      Faults*         faults);

/// Name the takes of a folder that its prop does not.
void prop_unused_warn(const Prop* prop, const char* folder);

/* Takes in a folder, and a prop made of them */

/// A file of a folder that may be a take.
typedef struct {
  char*  path;     ///< Seen from here. Owned.
  size_t at_name;  ///< Where in `path` that begins which is in the folder.
  size_t n_group;  ///< Length of the inner folder's name there, or 0.
  bool   promised; ///< Its name says that it is a sound.
} FolderTake;

/// Files in the order of their names. Starts all zero.
typedef struct {
  FolderTake* takes; ///< Owned.
  size_t      n_takes;
  bool        with_ours; ///< Set before: list also what this program made.
} TakeFolder;

/**
 * List the files of a folder and of the folders in it, but for hidden ones and
 * those that this program made.
 *
 * @return False, and said, if the folder cannot be read.
 */
bool take_folder_list(const char* path, TakeFolder* folder);

/// Free what `folder` owns. NULL is accepted.
void take_folder_clear(TakeFolder* folder);

/**
 * Guess what to make of the takes in a folder: of a shot, or several, the shot
 * and its rapid fire; anything else as it is, a little softer.
 *
 * @param prop Filled in on success; free with prop_clear().
 * @param n_failed Takes that cannot be used; each was said.
 * @return False, and said, if the folder cannot be read.
 */
bool prop_guess(const char*     folder,
                const Settings* settings,
                Prop*           prop,
                size_t*         n_failed);

/// A name that may stand in `[sound NAME]`, made from a file's name without its
/// ending. To be freed; NULL without memory.
char* prop_guess_name(const char* stem, size_t n_stem);

/// Name a prop after a folder, or after its file: after the folder that this
/// lies in where it is called prop. False without memory.
bool prop_name_after(const char* path, Prop* prop);

/* As text */

/// A sound that was just made.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const char* const* takes;   ///< Those it is made of.
  size_t             n_takes; ///< How many.
  bool               fires;   ///< Shots are in it; else it sounds on.
} PropMade;

/**
 * Print on standard output the section of a sound list for a sound, with the
 * options given. Takes are as seen from here; what belongs under `[prop]`
 * stands in remarks above.
 *
 * @return False without memory.
 */
bool prop_print_section(const PropMade* made);

/// How a prop's text names its takes.
typedef struct {
  /// A take that is seen so from here. To be freed; NULL without memory.
  char* (*name)(const void* of, const char* take);
  const void* of;
} PropTakes;

/// A prop as the text of a file, for the boards that it names. To be freed;
/// NULL without memory.
char* prop_text(const Prop* prop, const PropTakes* takes);

/**
 * Write a prop as a new file, from where its takes are seen.
 *
 * @return False, and said, if it cannot be written or is there already.
 */
bool prop_write(const Prop* prop, const char* path);

#endif
