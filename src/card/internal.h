#ifndef VW_CARD_INTERNAL_H
#define VW_CARD_INTERNAL_H

#include "card/card.h"
#include "container/container.h"
#include "store/store.h"

#include "volleyweave/volleyweave.h"

/* Check */

/// What is noted of one file or folder. The first failure stays.
typedef struct {
  VwFindings* findings; ///< Where it is noted. Not owned.
  const char* path;     ///< The file or folder. Not owned.
  VwStatus    status;   ///< #VW_OK or #VW_NO_MEMORY.
  bool        placed;   ///< What is noted next lies in these frames.
  size_t      from_frame;
  size_t      to_frame;
} VwNotes;

/// What to do about the file that the notes are on if it is not what the board
/// plays: `convert` refuses what this program made.
const char* vw_notes_remake(const VwNotes* notes);

/// Say where in the sound what is noted next lies: in frames [from, to).
void vw_notes_place(VwNotes* notes, size_t from, size_t to);

/// Note a fault: what keeps the file from playing right.
__attribute__((format(printf, 3, 4))) void vw_notes_fault(VwNotes*    notes,
                                                          const char* remedy,
                                                          const char* format,
                                                          ...);

/// Note a fault of a name in the folder that the notes are on.
__attribute__((format(printf, 4, 5))) void vw_notes_fault_of(VwNotes*    folder,
                                                             const char* name,
                                                             const char* remedy,
                                                             const char* format,
                                                             ...);

/// Note something that only sounds poorer, or does no harm here.
__attribute__((format(printf, 3, 4))) void vw_notes_warn(VwNotes*    notes,
                                                         const char* remedy,
                                                         const char* format,
                                                         ...);

/// Note what a simple player of WAV files would fail on. True where the
/// sound can be read all the same.
bool vw_check_header(const VwWavHeader* header,
                     const VwBoard*     board,
                     VwNotes*           notes);

/// Whether a name has the ending of the board's files, in any letters.
bool vw_name_is_of_board(const char* name, const VwBoard* board);

/**
 * Which part of a family a file's name tells of.
 *
 * @param n_before Set to the length of the name before the part's word and
 * what joins it, or before the ending.
 * @return False where the name tells of none.
 */
bool vw_name_part(const char*    name,
                  const VwBoard* board,
                  VwPart*        part,
                  size_t*        n_before);

/// Note what the board does not allow in the file's name, its folder left out.
void vw_check_name(const VwBoard* board, VwNotes* notes);

/**
 * Note names that get into each other's way: two sounds on one slot, names that
 * differ in their letters' case alone.
 *
 * @param files The board's files, by name.
 * @param notes Its path is the folder in which they are.
 */
void vw_check_names_together(const VwEntry* const* files,
                             size_t                n_files,
                             const VwBoard*        board,
                             VwNotes*              notes);

/// What is known of a file before its sound is looked at.
typedef struct {
  bool     exact;    ///< It was not packed with loss: a zero is a zero.
  bool     has_part; ///< Its name tells which part of a family it is.
  VwPart   part;
  unsigned block_frames; ///< Longest block that may be padded, or 0.
  bool     has_loop;     ///< It has loop points that the board reads.
  size_t   loop_start;   ///< First frame of the loop.
  size_t   loop_last;    ///< Its last frame.
} VwSoundFacts;

/// Note what is heard amiss in a sound: its ends, its seam, its level.
void vw_check_sound(const VwSound*      sound,
                    const VwSoundFacts* facts,
                    const VwBoard*      board,
                    VwNotes*            notes);

/// Prove the file of a board that the notes are on: its size of `n_bytes`,
/// header, format and sound.
void vw_check_file(uint64_t n_bytes, const VwBoard* board, VwNotes* notes);

/**
 * Whether a folder lies on a file system that names files in the order in which
 * they were written, as those of cards do.
 */
bool vw_order_is_kept(const char* root);

/**
 * Note files that were not written in the order of their names: one fault for
 * each folder.
 *
 * @param files The board's files, by name.
 * @param kept The folder names them in the order written; or else the times at
 * which they were written count.
 * @param notes Its path is the folder in which they are.
 */
void vw_check_order(const VwEntry* const* files,
                    size_t                n_files,
                    bool                  kept,
                    VwNotes*              notes);

/* Deliver */

/**
 * The name of a file on its way, in the card's first folder.
 *
 * Eight letters and three: in a folder of a FAT card it takes one place, so
 * that the place it leaves is too small for a name of several and is taken by
 * the next file on its way. Files are then named in the order written.
 */
#define VW_CARD_TEMPORARY "COPYING.TMP"

/// How a card is divided.
typedef struct {
  uint64_t cluster_bytes; ///< Files take whole ones.
  uint64_t n_bytes;       ///< In all.
  uint64_t n_bytes_free;  ///< For everybody.
} VwCardRoom;

/// Which status an error of the system on a card stands for.
VwStatus vw_card_status(int error);

/// Whether the card is still the one that was looked at: #VW_OK or
/// #VW_CARD_GONE.
VwStatus vw_card_check(const VwDelivery* delivery);

/// Ask how much room there is. #VW_OK, or what vw_card_status() says.
VwStatus vw_card_room(const char* path, VwCardRoom* room);

/// Make a folder's names sure. #VW_OK, or what vw_card_status() says.
VwStatus vw_card_sync(const char* folder);

/// Remember where a step failed, in place of what was remembered, if it did;
/// takes `path` over. Returns `status`.
VwStatus vw_card_at(VwDelivery* delivery, char* path, VwStatus status);

/// Add a copy of a file to a list. #VW_OK or #VW_NO_MEMORY.
VwStatus vw_delivered_add(VwDelivered**      files,
                          size_t*            n_files,
                          const VwDelivered* file);

/// Free a list of files.
void vw_delivered_clear(VwDelivered* files, size_t n_files);

/// In a folder that was delivered: what went to cards from it, ever.
#define VW_RECORD_NAME ".volleyweave.delivered"

/// Files by path and digest. Starts all zero.
typedef struct {
  VwDelivered* lines; ///< Owned.
  size_t       n_lines;
  bool         unfinished; ///< A list that was read says so of its pack.
} VwRecord;

/// Add a copy of a file. #VW_OK or #VW_NO_MEMORY.
VwStatus vw_record_add(VwRecord* record, const VwDelivered* file);

/**
 * Add what a list of lines "DIGEST  NAME" says; a missing one says nothing.
 *
 * @param list Where the list is.
 * @param folder The folder in which its names are, or empty.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_record_read(VwRecord* record, const char* list, const char* folder);

/// Sort by path and drop what is said twice; the questions below need it.
void vw_record_sort(VwRecord* record);

/// Whether a path is in it at all, in whatever letters: cards do not tell
/// capital letters from small ones.
bool vw_record_names(const VwRecord* record, const VwDelivered* file);

/// Whether a path is in it with that digest.
bool vw_record_holds(const VwRecord* record, const VwDelivered* file);

/// The list of it all, one line each. Free it with vw_bytes_clear().
VwStatus vw_record_text(const VwRecord* record, VwBytes* text);

/// Free what `record` owns and set it to zero. NULL is accepted.
void vw_record_clear(VwRecord* record);

#endif
