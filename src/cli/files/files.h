#ifndef VW_CLI_FILES_FILES_H
#define VW_CLI_FILES_FILES_H

#include "board/board.h"
#include "cli/options/settings.h"

#include <volleyweave/volleyweave.h>

/// Where files go unless -o says otherwise.
#define OUTPUT_FOLDER "volleyweave-out"

/// A take and what was found in it, or why not.
typedef struct {
  const char* path;         ///< As given.
  VwTake      take;         ///< Owned.
  VwShotFacts facts;        ///< Of use where `status` is #VW_OK.
  VwEvents    events;       ///< All of the take, if `has_shot`. Owned.
  size_t*     clipped;      ///< Frames of each event; of split and loop. Owned.
  bool        has_shot;     ///< A shot was looked for and found.
  bool        has_loudness; ///< `loudness` counts.
  VwLoudness  loudness;     ///< Of the recording as it came; of inspect alone.
  double      stretch_db;   ///< Its loudest, relative to its recording's.
  VwStatus    status;       ///< What became of it.
  char*       message;      ///< "fault: remedy" where it failed. Owned.
} Input;

/// Read the take named by `path` and find its shot; see `status` for the end.
/// Free with input_clear().
void input_load(const char*        path,
                const CommandName* command,
                const Settings*    settings,
                Input*             input);

/// Free what `input` owns. NULL is accepted.
void input_clear(Input* input);

/// What -o means.
typedef enum {
  TO_FOLDER, ///< Files of the usual names in a folder.
  TO_FILE,   ///< The one file.
  TO_STDOUT, ///< The one file's bytes on standard output.
  TO_CALLER, ///< No file: families go to who asked for them.
} DestinationKind;

/// Where the files go.
typedef struct {
  DestinationKind kind;
  const char*     path; ///< The folder or the file; points into arguments.
  bool            made; ///< We created the folder.
  /// With #TO_CALLER: takes what is made of a take.
  void (*take)(void* context, const char* path, const VwFamily* family);
  void* context;
} Destination;

/**
 * Make out what -o means, before anything is read or written.
 *
 * @return #EXIT_DONE, or #EXIT_USAGE or #EXIT_FILE, and said.
 */
int destination_choose(const CommandName* command,
                       const Settings*    settings,
                       Destination*       destination);

/// Create the folder where it is missing. Signals should wait meanwhile.
VwStatus destination_open(Destination* destination);

/// Remove the folder again where we created it and nothing lies in it.
void destination_close(Destination* destination);

/// Whether there is a folder for an output to lie in: #EXIT_DONE, or
/// #EXIT_FILE, and said.
int path_check_parent(const char* path);

/// The sound's name in those of a take's files: as asked, or the take's own. To
/// be freed; NULL without memory.
char* path_sound(const Settings* settings, size_t take);

/**
 * Name of the file for a part of a take, as the board wants it.
 *
 * @param take Index of the take among all.
 * @param path To be freed; filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_NAME.
 */
VwStatus path_of_part(const Destination* destination,
                      const Settings*    settings,
                      size_t             take,
                      VwPart             part,
                      char**             path);

/**
 * Check the names of all files before anything is read or written, also for
 * cards that do not tell capital letters from small ones.
 *
 * @param why Set to #VW_SAME_STEM or #VW_NO_NAME where that is the fault.
 * @return #EXIT_DONE, or #EXIT_USAGE or #EXIT_FILE, and said.
 */
int name_check(const CommandName* command,
               const Settings*    settings,
               const Destination* destination,
               VwStatus*          why);

/// A file that was made, or would be.
typedef struct {
  VwPart   part;
  char*    path;  ///< Owned; "-" for standard output.
  VwBytes  bytes; ///< Owned.
  size_t   n_frames;
  size_t   loop_start; ///< First frame of what repeats in it,
  size_t   loop_end;   ///< and one past the last; 0: nothing does.
  unsigned n_channels;
  unsigned rate_hz;
  unsigned block_frames; ///< Longest block that may be padded, or 0.
  bool     whole_blocks; ///< As vw_ogg_is_whole().
  VwMade   made;         ///< What it holds.
} MadeFile;

/// What files are made from.
typedef struct {
  const CommandName* command;
  const Settings*    settings;
  const VwFamily*    family;
  size_t             first_take; ///< Of its takes, among all.
} MadeFrom;

/// The files that one family becomes.
typedef struct {
  MadeFile* files; ///< Owned.
  size_t    n_files;
  bool      are_takes; ///< Each may be a take again.
  VwBytes   picture;   ///< Where one is asked for. Owned.
} MadeFiles;

/**
 * Encode those parts of a family that are wanted.
 *
 * @param made Filled in; free with made_files_clear() also after a failure.
 */
VwStatus made_files_encode(const MadeFrom*    from,
                           const Destination* destination,
                           MadeFiles*         made);

/**
 * Write the files and the picture, all or none; where the one file goes to
 * standard output, the picture before it.
 *
 * @param at Set to the index of the file that failed, where one did: `n_files`
 * for the picture.
 */
VwStatus made_files_write(const MadeFiles* made,
                          const Settings*  settings,
                          Destination*     destination,
                          size_t*          at);

/// Write a picture alone, where one is asked for, under the rules for all that
/// is written.
VwStatus made_picture_write(const VwBytes* picture, const Settings* settings);

/// Free what `made` owns. NULL is accepted.
void made_files_clear(MadeFiles* made);

/**
 * Say what is wrong with a file that is too big for the board asked for.
 *
 * @param encoding Of the file.
 * @return "fault: remedy", to be freed; NULL where it fits.
 */
char* fit_fault(const Settings* settings,
                VwEncoding      encoding,
                const MadeFile* file);

/// A file's name taken apart. Points into the path.
typedef struct {
  const char* path;
  size_t      at_sound; ///< Where the sound's name begins, behind a slot.
  size_t      n_sound;
  size_t at_part; ///< Where the part's word begins; counts with `has_part`.
  bool   has_part;
  VwPart part;
} SoundName;

/// Take the name of a file apart: [SLOT joiner] SOUND [joiner PART] ENDING.
SoundName sound_name_of(const char* path);

/// The name of the file with another part of the same sound. To be freed; NULL
/// without memory.
char* sound_name_sibling(const SoundName* name, VwPart part);

/// Whether the file is of a sound of that name, whatever its letters' size.
bool sound_name_is(const SoundName* name, const char* sound);

/// Whether two files are of one sound, in one folder.
bool sound_name_is_sibling(const SoundName* name, const SoundName* other);

/// Whether a file is a loop of a sound that sounds on: the list in its folder
/// tells of it as one, or of no shots in it.
bool sound_name_sounds_on(const SoundName* name);

/// Whether so many shots, as --shots has them, fit into a loop and its gap.
/// False, and said, if no fire rate is that high.
bool loop_holds_shots(size_t shots, const VwSound* loop, double gap_ms);

/// Files and their attacks.
typedef struct {
  VwSound     main;       ///< Owned, as all sounds and attacks.
  VwSound     run_in;     ///< Of three.
  VwSound     ring_out;   ///< Of three.
  size_t*     attacks[3]; ///< Of the main file, run-in and ring-out.
  char*       paths[3];   ///< Of those that were read, then NULL. Owned.
  VwRehearsal rehearsal;  ///< Points to the above.
} BoardFiles;

/**
 * Read a loop, or a finished sound, and what belongs to it by its name.
 *
 * @param path The file; of three, any of them.
 * @param files Filled in; free with board_files_clear() also after a failure.
 * @return False, and said, if a file is missing or cannot be used.
 */
bool board_files_read(const char*     path,
                      const Settings* settings,
                      BoardFiles*     files);

/// Free what `files` owns.
void board_files_clear(BoardFiles* files);

#endif
