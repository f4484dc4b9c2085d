#ifndef VW_CARD_H
#define VW_CARD_H

#include "base/status.h"
#include "board/board.h"

#include "volleyweave/volleyweave.h"

/// What was found out about a file, or about a folder of them.
typedef struct {
  VwFaults faults;   ///< What keeps it from playing right.
  VwFaults warnings; ///< What only sounds poorer, or is not for the card.
  size_t   n_files;  ///< Files that a board of that kind plays.
  uint64_t n_bytes;  ///< Of all files that would lie on the card.
  uint64_t n_bytes_on_card; ///< The same in whole clusters, folders too.
  uint64_t cluster_bytes; ///< The board's; if neither it nor a capacity is set,
                          ///< that of the file system on which they lie.
} VwFindings;

/**
 * Prove that a file, or every file of a folder and its folders, suits a board:
 * header, format, name, size, order, capacity, and what does not belong there.
 *
 * Of a sound it judges the ends and the seam: from silence into the first
 * frame, out of the last one, or from the last frame of a loop to its first, no
 * step may exceed twice the 99.9th percentile of the sound's own steps. A file
 * is taken for a part of a family by the part's word at the end of its name.
 *
 * @param path A file or a folder.
 * @param findings Filled in on success; free it with vw_findings_clear().
 * @return #VW_OK, also where faults were found; #VW_NO_MEMORY, #VW_MISSING,
 * #VW_UNREADABLE, #VW_NOT_REGULAR.
 */
VwStatus vw_check(const char* path, const VwBoard* board, VwFindings* findings);

/// Free what `findings` owns and set it to zero. NULL is accepted.
void vw_findings_clear(VwFindings* findings);

/// A file of a pack, or one on a card.
typedef struct {
  char*    path; ///< From the pack's or the card's folder on. Owned.
  uint64_t n_bytes;
  uint64_t digest; ///< Of its bytes; 0 where they were not read.
} VwDelivered;

/// What goes from a folder to a card, and what happens to what is there.
typedef struct {
  char*        from;    ///< The pack's folder. Owned.
  char*        to;      ///< Where the card is mounted. Owned.
  VwDelivered* files;   ///< What is written, in this order. Owned.
  size_t       n_files; ///< At least one.
  VwDelivered* old;     ///< What is cleared before. Owned.
  size_t       n_old;
  VwDelivered* left; ///< What stays on the card and is none of ours. Owned.
  size_t       n_left;
  VwFaults     apart; ///< What in the folder is not as its pack made it; their
                      ///< paths are from the folder on. Owned.
  char*    board;     ///< Name of the one that the pack is for, or NULL. Owned.
  uint64_t n_bytes;   ///< Of the files.
  uint64_t n_bytes_on_card; ///< The same in whole clusters, folders too.
  uint64_t cluster_bytes;   ///< The card's.
  uint64_t n_bytes_free;    ///< On the card when the old files are cleared.
  bool     mounted;         ///< It is the top of a file system, as a card is.
  bool     ordered; ///< Set in the end: the card names the files in the order
                    ///< in which they were written, or cannot be asked.
  uint64_t device;  ///< By which the card is known again.
  uint64_t folder;  ///< The same.
  char*    at;      ///< The file or folder where a step failed, or NULL. Owned.
} VwDelivery;

/**
 * Look at a folder and at a card, and change neither.
 *
 * A file on the card is cleared where this program put it there and nobody
 * changed it since: where a list in the folder, its record of earlier
 * deliveries, or the file itself in the folder has its name and digest. So is a
 * file left unfinished by an interrupted delivery.
 *
 * Of a pack that is delivered which its list names; a file that it does not, or
 * that was changed since, is noted. Of any other folder all files are. Hidden
 * ones never are.
 *
 * @param force Clear also files that have the name of one to deliver.
 * @param delivery Filled in; free it with vw_delivery_clear(), also where it
 * failed, when it tells nothing but where.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE, #VW_NO_FILES,
 * #VW_UNFINISHED (also where a file of the pack is gone), #VW_NOT_REGULAR (also
 * of symbolic links), #VW_NO_FOLDER, #VW_NOT_A_FOLDER, #VW_NESTED, #VW_EXISTS,
 * #VW_FOLDER_READONLY, #VW_CARD_TOO_SMALL, #VW_DISK_FULL, #VW_CARD_GONE.
 */
VwStatus vw_delivery_plan(const char* from,
                          const char* to,
                          bool        force,
                          VwDelivery* delivery);

/**
 * Note in the folder what is delivered, then clear the old files off the card.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED, #VW_CARD_GONE.
 */
VwStatus vw_delivery_make_room(VwDelivery* delivery);

/**
 * Write one file: under another name, synced, then renamed. To be called for
 * each file in turn.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_MISSING, #VW_UNREADABLE, #VW_NOT_SAME (it
 * was changed in the meantime), #VW_EXISTS, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED, #VW_CARD_GONE.
 */
VwStatus vw_delivery_write(VwDelivery* delivery, size_t index);

/**
 * Read one file back, from the card and not from memory, and compare.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NOT_SAME, #VW_DISK_FULL,
 * #VW_FOLDER_READONLY, #VW_WRITE_FAILED (as it is told by now),
 * #VW_CARD_GONE.
 */
VwStatus vw_delivery_verify(VwDelivery* delivery, size_t index);

/// Look in which order the card names its files.
///
/// @return #VW_OK, #VW_NO_MEMORY, #VW_UNREADABLE, #VW_CARD_GONE.
VwStatus vw_delivery_finish(VwDelivery* delivery);

/// Free what `delivery` owns and set it to zero. NULL is accepted.
void vw_delivery_clear(VwDelivery* delivery);

#endif
