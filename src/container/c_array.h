#ifndef VW_C_ARRAY_H
#define VW_C_ARRAY_H

#include "volleyweave/volleyweave.h"

/**
 * Write a piece as source text in C: its codes and what is to be known of them.
 *
 * @param wrapping Its encoding, and its name, which is made a C identifier.
 * @param codes Its codes; see vw_codes_make().
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_NO_FRAMES (C has no empty array).
 */
VwStatus vw_c_array_make(const VwPiece*    piece,
                         const VwWrapping* wrapping,
                         const VwBytes*    codes,
                         VwBytes*          bytes);

#endif
