#ifndef VW_CLI_PAGE_PAGE_H
#define VW_CLI_PAGE_PAGE_H

#include "board/board.h"
#include "cli/message/figures.h"
#include "cli/options/settings.h"
#include "cli/packing/packing.h"
#include "pack/pack.h"
#include "store/store.h"

#include <volleyweave/volleyweave.h>

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

/// The word for an encoding in a page: "u8", "s16", "s24", "f32". Static.
const char* tryout_codes_word(VwEncoding encoding);

/// Bytes of one code.
unsigned tryout_codes_bytes(VwEncoding encoding);

/// How many characters a sound takes in a page.
uint64_t tryout_codes_length(const VwSound* sound, VwEncoding encoding);

/// A sound in base64: codes, frame after frame, little end first. Values that
/// came from such codes become the same again. To be freed; NULL without
/// memory.
char* tryout_codes_text(const VwSound* sound, VwEncoding encoding);

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

Figures* facts_of_board(const TryoutBoard* shown);

/// Of a sound, without what is heard of it.
Figures* facts_of_sound(const TryoutSound* sound, bool heard);

/// What is heard of it, as codes in base64.
Figures* frames_of_sound(const TryoutSound* sound, bool heard);

/// How many characters those take.
uint64_t frames_length(const TryoutSound* sound);

/// What stands before the data, ended by a zero.
extern const char tryout_before[];

/// What stands after them, ended by a zero.
extern const char tryout_after[];

/**
 * A command with the options that were given, less those that change no sound.
 *
 * @param but Names of others that are left out, NULL at the end; or NULL.
 * @return To be freed; NULL without memory.
 */
char* tryout_command(const char*        command,
                     const Settings*    settings,
                     const char* const* but);

/// The same with all that it takes in.
char* tryout_command_whole(const char* command, const Settings* settings);

/// Add a word behind others, quoted where a shell wants it. Frees `line`; NULL
/// without memory.
char* tryout_command_add(char* line, const char* before, const char* word);

/// The files of a sound, and what a trigger makes of them. Starts all zero.
typedef struct {
  VwSound written[4]; ///< By part, from #VW_PART_SHOT on; a whole take is in
                      ///< the place of the shot, a burst in that of the loop.
                      ///< Owned.
  size_t      loop_start; ///< Of a loop that is marked.
  size_t      loop_end;
  size_t*     attacks; ///< Of all files, one after the other. Owned.
  VwRehearsal single;  ///< Points to the above; without a file: none.
  VwRehearsal rapid;   ///< The same.
} TryoutSounds;

/// Where the file of a part goes.
VwSound* tryout_sounds_place(TryoutSounds* sounds, VwPart part);

/**
 * Fill in the files of a family as they are written.
 *
 * @param sounds To be freed with tryout_sounds_clear(), also after a failure.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus tryout_sounds_fill(const VwFamily* family,
                            uint64_t        seed,
                            TryoutSounds*   sounds);

/**
 * Find out what a trigger makes of the files that are there.
 *
 * A lamp's track is no sound: only the first channel stays.
 *
 * @param family Its figures count.
 * @param options As asked.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus tryout_sounds_lay(const VwFamily*        family,
                           const VwFamilyOptions* options,
                           TryoutSounds*          sounds);

/// The trigger, or NULL where there is no file for it.
const VwRehearsal* tryout_sounds_single(const TryoutSounds* sounds);
const VwRehearsal* tryout_sounds_rapid(const TryoutSounds* sounds);

/// Free what `sounds` owns.
void tryout_sounds_clear(TryoutSounds* sounds);

/**
 * Make what `loop` makes of a take, and add it to a page; a take that cannot be
 * used is added with the reason, which is said too.
 *
 * @param index Of the take among all.
 * @return False where it cannot be used.
 */
bool tryout_take_add(const Settings* asked, size_t index, TryoutPage* page);

/// What is shown, and where. Nothing in it is owned.
typedef struct {
  const Settings* settings;
  const char*     title; ///< Or NULL.
  const PackRun*  runs;
  size_t          n_runs;
  const char*     path;
} TryoutPack;

/**
 * Write the page of the packs that were made; a pack that was not is named.
 *
 * A page that was made from the same is left alone. Where no pack was made
 * nothing is written.
 *
 * @return False, and said, where it could not be written.
 */
bool tryout_pack_write(const TryoutPack* shown);

/// What is told of a sound, as --json has it. To be freed; NULL without memory.
char* tryout_report_of(const PackRun* run, const VwPackSound* sound);

/// What the prop asks of a sound alone, and its takes. To be freed; NULL
/// without memory.
char* tryout_made_with(const PackRun* run, const VwPackSound* sound);

/**
 * Add what a sound made; where it failed, the reason.
 *
 * @param board Index of the pack's board in the page.
 */
void tryout_pack_sound_add(const PackRun*     run,
                           size_t             board,
                           const VwPackSound* sound,
                           TryoutPage*        page);

#endif
