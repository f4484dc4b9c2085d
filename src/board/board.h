#ifndef VW_BOARD_H
#define VW_BOARD_H

#include "store/store.h"

#include "volleyweave/volleyweave.h"

/// What a board plays again and again while its trigger is held.
typedef enum {
  VW_REPEAT_WHOLE_FILE,  ///< One file, from end to end.
  VW_REPEAT_LOOP_POINTS, ///< The loop marked in a file's `smpl` chunk.
  VW_REPEAT_THREE_FILES, ///< The second of three files.
  VW_REPEAT_NOTHING      ///< It plays a file once at each press.
} VwRepeat;

/// What a board does when the trigger is let go.
typedef enum {
  VW_RELEASE_STOPS,   ///< It falls silent at once.
  VW_RELEASE_FINISHES ///< It plays the file to its end.
} VwRelease;

/// In which order a board counts its files.
typedef enum {
  VW_ORDER_BY_NAME, ///< By their names.
  VW_ORDER_WRITTEN  ///< As they were written to the card.
} VwOrder;

/// Which letters file names have.
typedef enum { VW_LETTERS_ANY, VW_LETTERS_LOWER, VW_LETTERS_UPPER } VwLetters;

/// How a board's files are named: slot, sound, part, joined.
typedef struct {
  unsigned  digits; ///< Digits of the slot in front, 0 (none) to 5. Default 0.
  bool      sound;  ///< The sound's name is part of it. Default true.
  bool      parts;  ///< So is the part's, but for a whole take. Default true.
  char      joiner[4];   ///< Between them. Default ".".
  unsigned  length_max;  ///< Characters with the ending; 0: 255 bytes.
  bool      eight_three; ///< Eight characters and an ending of three.
  VwLetters letters;     ///< Default #VW_LETTERS_ANY.
  char      allowed[65]; ///< Characters beside ASCII letters and digits;
                         ///< empty: all that any file system takes.
  bool group_folders;    ///< A folder for each group of sounds.
} VwNaming;

/// What a playback board accepts and how it behaves. Lists name what is
/// accepted, the first being the one to use; unused entries are zero.
typedef struct {
  char        name[41];           ///< One word: letters, digits, - and _.
  VwContainer container;          ///< Default #VW_CONTAINER_WAV.
  VwEncoding  encodings[4];       ///< `n_encodings` (1 to 4) of them.
  unsigned    n_encodings;        ///< Default 1: 16 bit.
  unsigned    sample_rates_hz[8]; ///< `n_sample_rates` (1 to 8) of them.
  unsigned    n_sample_rates;     ///< Default 1: 44100.
  unsigned    channels[2];        ///< `n_channels` (1 or 2) of them.
  unsigned    n_channels;         ///< Default 1: mono.
  uint64_t    file_bytes_max;     ///< Most bytes of a file; 0: no limit.
  uint64_t    capacity_bytes;     ///< Of the card or flash; 0: unknown.
  unsigned    cluster_bytes;      ///< Files take whole clusters. Default 1.
  unsigned    files_max;          ///< Most files; 0: no limit.
  unsigned    slots_max;          ///< Highest slot; 0: what the digits allow.
  VwNaming    naming;             ///< See #VwNaming.
  bool        loop_points;   ///< It reads loop points from `smpl`. Default no.
  VwRepeat    repeat;        ///< Default #VW_REPEAT_WHOLE_FILE.
  double      gap_ms;        ///< Silence between repeats, 0 to 1000.
  unsigned    buffer_frames; ///< A loop is a multiple of it, 1 to 65536.
  double      delay_ms;      ///< From the trigger to the sound, 0 to 5000.
  double      press_min_ms;  ///< Shortest press it notices, 0 to 5000.
  VwRelease   release;       ///< Default #VW_RELEASE_STOPS.
  VwOrder     order;         ///< Default #VW_ORDER_BY_NAME.
} VwBoard;

/// What a person may set beside the board. Start from all zero.
typedef struct {
  double overrun_max_s; ///< How long a board that finishes its file may go on
                        ///< after the release, 0.05 to 60; 0: 1 s.
  double run_in_max_s;  ///< As in #VwFamilyOptions; 0: chosen by the board.
} VwBoardWish;

/// The defaults of #VwBoard; its name is empty.
VwBoard vw_board_defaults(void);

/**
 * A board that comes with the library: what it accepts, in format facts only.
 *
 * @return Static; NULL past the last.
 */
const VwBoard* vw_board_built_in(size_t index);

/// Whether all that tells how a board plays is in range.
bool vw_board_playing_is_sound(const VwBoard* board);

/**
 * Set what a board decides: sample rate, channels and encoding (the first of
 * each list), form, gap, buffer, most bytes, and the longest cycle where the
 * board finishes its file. A form of #VW_FORM_BURST stays.
 *
 * @param options Changed on success.
 * @return #VW_OK or #VW_BAD_OPTION (out of range).
 */
VwStatus vw_board_apply(const VwBoard*     board,
                        const VwBoardWish* wish,
                        VwFamilyOptions*   options);

/// What a file's name tells. Nothing in it is owned.
typedef struct {
  unsigned    slot;  ///< 1 and up; 0: none was given (digits then need one).
  const char* group; ///< The group's name, or NULL.
  const char* sound; ///< The sound's name.
  VwPart      part;  ///< Which part of its family.
} VwFileLabel;

/**
 * The name of a file as a board wants it, with its group's folder in front
 * where the board has such.
 *
 * The sound's name is cut short where it has to be, never the slot or the part;
 * characters that the board does not allow become `_` or, where that is not
 * allowed, nothing. A name is never empty, never a name that a file system
 * reserves, never starts or ends in a dot, and never leaves its folder.
 *
 * @param name To be freed with free(); filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_NAME.
 */
VwStatus vw_board_file_name(const VwBoard*     board,
                            const VwFileLabel* label,
                            char**             name);

// Letters before the ending, and of the ending with its dot, where names have
// 8+3 (Microsoft, "FAT: General Overview of On-Disk Format"; from memory).
#define VW_NAME_SHORT 8U
#define VW_ENDING_SHORT 4U

/// Whether a board takes a byte in the names of its files, the dot before the
/// ending aside; what every file system takes, where the naming is all zero.
bool vw_board_takes(const VwNaming* naming, char c);

/// The word for a part in the names of files: "loop", or "l" where names are
/// short; empty for a whole take and where names tell of no parts. Static.
const char* vw_board_part_word(const VwNaming* naming, VwPart part);

/// The highest slot that a name can carry, and the board has; `UINT_MAX` if any
/// will do.
unsigned vw_board_slots(const VwBoard* board);

/// Whether some systems keep a name for a device, whatever ending it has
/// (Microsoft, "Naming Files, Paths, and Namespaces").
bool vw_board_is_device(const char* name);

/// A file that a board plays, and where its shots lie. Nothing in it is owned.
typedef struct {
  const VwSound* sound;   ///< NULL: there is no such file.
  const size_t*  shots;   ///< Frames of their attacks, ascending.
  size_t         n_shots; ///< May be 0: the lamp then stays off.
} VwPlayed;

/// What is rehearsed: a board's files, and how they are heard.
typedef struct {
  VwRepeat repeat;    ///< How these files are played; the board's own does not
                      ///< count. A finished file: #VW_REPEAT_NOTHING.
  VwPlayed  main;     ///< The only file; of three, the loop.
  VwPlayed  run_in;   ///< Of three.
  VwPlayed  ring_out; ///< Of three.
  size_t    loop_start;      ///< With #VW_REPEAT_LOOP_POINTS, in the main file.
  size_t    loop_end;        ///< One past the loop's last frame.
  double    fire_rate_per_s; ///< By which the lamp is timed; 0: a single shot.
  double    lamp_on_ms;      ///< How long it is on; 0: as vw_lamp() says.
  VwSpeaker speaker; ///< It plays; if there is none, all is heard as it is.
} VwRehearsal;

/// When a lamp is on, seconds from the first press.
typedef struct {
  double on_s;
  double off_s;
} VwFlash;

/// What is heard, and when the lamp flashes.
typedef struct {
  VwSound  sound;   ///< From the first press on. Owned.
  VwFlash* flashes; ///< One for each attack that is heard. Owned.
  size_t   n_flashes;
} VwRehearsed;

/**
 * Make the sound that a board makes when its trigger is held so and so long.
 *
 * Times are rounded to frames. The rules, where boards leave a choice:
 *
 * - A press shorter than the board's shortest does nothing; one as long is
 *   noticed once it has lasted so long. The sound begins `delay_ms` after the
 *   press, but not before it is noticed.
 * - A board that falls silent at once does so in the frame of the release, in
 *   the middle of a wave: that step is the board's own. Let go before its sound
 *   began, it makes none.
 * - A board that finishes its file plays it once it has noticed a press, also
 *   where the trigger is let go before the sound begins. It looks at the
 *   trigger when the file, and the gap after it, are over: held, it plays it
 *   again. While a file sounds a press does nothing else: it is lost where the
 *   trigger is not held at the file's end, and in any case with
 *   #VW_REPEAT_NOTHING.
 * - With loop points the part up to the loop's end is played, then the loop, as
 *   long as the trigger is held whenever it ends, then the rest of the file.
 * - Of three files the run-in is played, then the loop, as long as the trigger
 *   is held whenever one of them is over, then the ring-out, whatever the
 *   board's release: the third file is for that. A new press while the ring-out
 *   sounds starts the run-in on top of it.
 * - The gap follows every file, and every repeat between loop points.
 * - The lamp goes on at an attack for its on-time, but no longer than to the
 *   next; a flash that has begun is not cut short.
 *
 * The sound ends with the last frame played, or with the last of the times
 * where that is later.
 *
 * @param held_s Held, released, held ... seconds each, 0.001 to 600 and 600 in
 * all.
 * @param n_times How many, at least 1.
 * @param rehearsed Filled in on success; free it with vw_rehearsed_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (also where a file is missing
 * or the files differ in sample rate or channels).
 */
VwStatus vw_rehearse(const VwRehearsal* rehearsal,
                     const VwBoard*     board,
                     const double*      held_s,
                     size_t             n_times,
                     VwRehearsed*       rehearsed);

/// Free what `rehearsed` owns and set it to zero. NULL is accepted.
void vw_rehearsed_clear(VwRehearsed* rehearsed);

/**
 * Find the attacks of the shots in a file that was made of evenly fired ones.
 *
 * The shots of a loop are those that vw_rate_of_loop() finds, evenly spread; or
 * one, where it finds no rate, or none if it surely sounds on. In a finished
 * file they are its events. The first attack lies 2 ms after the file's start.
 *
 * @param loop What is known of it, where it is a loop; NULL: a finished file.
 * @param shots Frames, to be freed with free(); filled in on success.
 * @param n_shots Filled in on success; 0 only of a loop that sounds on.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_rehearse_find_shots(const VwSound*     sound,
                                const VwLoopKnown* loop,
                                size_t**           shots,
                                size_t*            n_shots);

/**
 * Put the events of a sound in the place of the evenly spread shots that
 * vw_rehearse_find_shots() counts in it, if they are several shots and not as
 * many.
 *
 * @param shots Those; replaced, or left as they are.
 * @param n_shots How many.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_rehearse_find_uneven(const VwSound* sound,
                                 size_t**       shots,
                                 size_t*        n_shots);

/**
 * Spread the shots of a loop marked in a file over all of it: before the loop
 * they lie as in it, and behind it as well, as far as events lie there.
 *
 * @param rehearsal Its main file, and where the loop lies in it.
 * @param loop The loop alone, with one shot at least.
 * @param shots Frames of the file, to be freed with free(); filled in on
 * success.
 * @param n_shots Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_rehearse_spread_shots(const VwRehearsal* rehearsal,
                                  const VwPlayed*    loop,
                                  size_t**           shots,
                                  size_t*            n_shots);

#endif
