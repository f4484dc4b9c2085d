#ifndef VW_CARD_H
#define VW_CARD_H

#include "volleyweave/volleyweave.h"

/**
 * The name of a file on its way, in the card's first folder.
 *
 * Eight letters and three: in a folder of a FAT card it takes one place, so
 * that the place it leaves is too small for a name of several and is taken by
 * the next file on its way. Files are then named in the order written.
 */
#define VW_CARD_TEMPORARY "VWFILE.TMP"

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

/// Remember where a step failed, in place of what was remembered; takes `path`
/// over. Returns `status`.
VwStatus vw_card_at(VwDelivery* delivery, char* path, VwStatus status);

#endif
