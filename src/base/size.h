#ifndef VW_SIZE_H
#define VW_SIZE_H

#include "volleyweave/volleyweave.h"

/// Bytes before the frames of a plain WAV file (Microsoft and IBM, "Multimedia
/// Programming Interface and Data Specifications" 1.0, 1991); of others they
/// differ little.
#define VW_WAV_HEADER_BYTES 44U

/// Bytes of a value in an encoding; 0 for what is no encoding.
unsigned vw_size_value_bytes(VwEncoding encoding);

/// What so many bytes take up in whole clusters; 0 stands for one byte.
uint64_t vw_size_on_card(uint64_t n_bytes, uint64_t cluster_bytes);

/**
 * What the number of frames in a file must be a multiple of, so that its bytes
 * are even.
 */
size_t vw_size_unit(const VwFormat* format);

/// The same of a loop, which is a multiple of the board's buffer as well. A
/// finished burst has none.
size_t vw_size_loop_unit(const VwFamilyOptions* options);

/// The silence that the board adds to each repeat, frames.
size_t vw_size_gap(const VwFamilyOptions* options, unsigned rate_hz);

/// The most frames of a loop that a file of the board holds behind a header of
/// 44 bytes; SIZE_MAX where there is no limit, as for a finished burst.
size_t vw_size_loop_most(const VwFamilyOptions* options);

/// The most bytes of a file with one channel that is going to be one of two in
/// a file of so many at most; 0 means no limit.
uint64_t vw_size_of_one(uint64_t file_bytes_max);

#endif
