/// @file
/// Packs: what they are made of, for which boards, made and reported.
#ifndef VW_CLI_PACKING_H
#define VW_CLI_PACKING_H

#include "cli/prop/prop.h"
#include "pack/pack.h"
#include "store/store.h"

#include <stdio.h>

/* What a pack is made of */

/// Where the sounds come from.
typedef struct {
  Prop        prop;     ///< Owned.
  const char* folder;   ///< The folder named, or NULL. Not owned.
  size_t      n_failed; ///< Takes of the folder that cannot be used.
} PackSource;

/**
 * Read the sound list named on the command line, or that of the folder named,
 * or guess one.
 *
 * @param source Filled in; free with pack_source_clear().
 * @return #EXIT_DONE, #EXIT_FILE or #EXIT_USAGE; what is wrong is said.
 */
int pack_source_read(const Settings* settings, PackSource* source);

/// Free what `source` owns.
void pack_source_clear(PackSource* source);

/* For which boards */

/// Boards. Starts all zero.
typedef struct {
  VwBoard* boards; ///< Owned.
  char**   paths;  ///< Their files, or NULL: built in. Owned.
  size_t   n_boards;
} PackBoards;

/**
 * Find the boards named on the command line, else the one that the environment
 * names, else those of the prop, else the one in the settings.
 *
 * @param boards Filled in; free with pack_boards_clear().
 * @return #EXIT_DONE, #EXIT_FILE or #EXIT_USAGE; what is wrong is said.
 */
int pack_boards_find(const CommandName* command,
                     const Settings*    settings,
                     const Prop*        prop,
                     PackBoards*        boards);

/**
 * Prove that the boards play what the prop asks for, and give each sound a slot
 * where they play by slots.
 *
 * @return False, and said, if they do not.
 */
bool pack_boards_check(const Settings*   settings,
                       const PackBoards* boards,
                       Prop*             prop);

/// Free what `boards` owns.
void pack_boards_clear(PackBoards* boards);

/// Where the pack of a prop for a board goes: OUT/BOARD, by default
/// volleyweave-out/PROP/BOARD; where `board` is NULL, the folder of all its
/// packs. To be freed; NULL without memory.
char* pack_folder(const Settings* settings,
                  const Prop*     prop,
                  const VwBoard*  board);

/* Made */

/// A prop's way to one board.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  Prop*              prop;
  const VwBoard*     board;
  char*              folder;     ///< Of pack_folder(). Owned.
  bool               partial;    ///< Some takes could not be used.
  double             found_lufs; ///< Loudness to keep to, or NaN: find it. Set
                                 ///< to what was found.
  const VwSignals* signals;      ///< That ask for the end, or NULL.
  unsigned*        cautioned;    ///< What was said before in this run, or NULL.
  VwSoundWish*     wishes;       ///< Starts NULL. Owned.
  VwPack           pack;         ///< Starts all zero. Owned.
  bool             made;         ///< It fits, and was made: written, or tried.
  bool             written;      ///< It was written; else it is what would be.
} PackRun;

/// Pack, and report it. Returns #EXIT_DONE or #EXIT_FILE; what the pack became
/// is kept.
int pack_run(PackRun* run);

/// Make a pack, and write nothing. False, and said, if it cannot be packed;
/// what becomes of a sound is its status.
bool pack_run_try(PackRun* run);

/// Say why sounds cannot be made. Returns how many.
size_t pack_run_say_failures(const PackRun* run);

/// Free what `run` owns.
void pack_run_clear(PackRun* run);

/* Reported */

/// Print a table of the sounds, and of all files in a dry run, for a person.
void pack_report_text(const PackRun* run, FILE* out);

/// Print what the sound that takes most takes from amplifier and cell, if the
/// prop tells of them.
void pack_report_power(const PackRun* run, FILE* out);

/// Say what is not as good as it could be.
void pack_report_warn(const PackRun* run);

/// Say by how much a pack is too big, and what would make it fit. False where
/// it fits.
bool pack_report_too_big(const PackRun* run);

/// Print one line of JSON for each sound, and one for the pack. False without
/// memory.
bool pack_report_json(const PackRun* run, FILE* out);

/// Print the line of JSON on one sound. False without memory.
bool pack_report_json_sound(const PackRun*     run,
                            const VwPackSound* sound,
                            FILE*              out);

/* Named for another */

/// Say it where `path` is a folder of packs and none itself. True, and said.
bool pack_near_refuse(const char* path);

/// Say it where a folder to deliver to is a pack. True, and said.
bool pack_near_refuse_target(const char* folder);

/// Whether a folder was made by this program.
bool pack_near_is_ours(const char* folder);

#endif
