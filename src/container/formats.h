/// @file
/// What the formats of this room share.
#ifndef VW_FORMATS_H
#define VW_FORMATS_H

#include "base/random.h"
#include "container/container.h"

#include "volleyweave/volleyweave.h"

/* ------------------------------------------------------------------------ */
/* Numbers                                                                   */

/// The number that so many bytes, 1 to 8, stand for.
uint64_t vw_number_at(const unsigned char* bytes,
                      unsigned             n_bytes,
                      bool                 big_endian);

/// Write a number in so many bytes, 1 to 4, little end first. Returns where the
/// next one goes.
static inline unsigned char*
vw_number_put(unsigned char* at, uint32_t number, unsigned n_bytes) {
  for (unsigned i = 0; i < n_bytes; ++i) {
    *at++ = (unsigned char)(number >> (8U * i));
  }
  return at;
}

/* ------------------------------------------------------------------------ */
/* Chunks                                                                    */

/// A chunk of an interchange file: a name, a size, and so many bytes.
typedef struct {
  VwOpenFile* file;       ///< Open.
  bool        big_endian; ///< How its numbers are written.
  char        name[4];
  uint64_t    at;      ///< Where its bytes start.
  uint64_t    n_bytes; ///< As its header says.
  unsigned    n_seen;  ///< Chunks so far.
} VwChunk;

/// The first chunk's predecessor: start here, then vw_chunk_next().
VwChunk vw_chunk_start(VwOpenFile* file, bool big_endian);

/// Go on to the next chunk. False where no whole header follows, or where there
/// are so many that it is no honest file.
bool vw_chunk_next(VwChunk* chunk);

/// Whether the chunk has that name of four letters.
bool vw_chunk_is(const VwChunk* chunk, const char* name);

/// A number of `n_bytes` (1 to 8) at `offset` in the chunk, 0 beyond the end.
uint64_t vw_chunk_number(const VwChunk* chunk,
                         unsigned       offset,
                         unsigned       n_bytes);

/// Bytes of the file from the chunk's first on.
uint64_t vw_chunk_bytes_there(const VwChunk* chunk);

/* ------------------------------------------------------------------------ */
/* Headers: what they promise and what is there; see vw_header_check()       */

/// Compare what the header of a WAV file promises with what is there.
VwStatus vw_riff_check(VwOpenFile* file, VwReadFault* fault);

/// Whether a WAV file has a header, but of a format other than the common ones.
bool vw_riff_is_uncommon(VwOpenFile* file);

/// Compare what the header of an AIFF file promises with what is there.
VwStatus vw_aiff_check(VwOpenFile* file, VwReadFault* fault);

/// Compare the length that an MP3 file's first frame may state with what is
/// there. Where it states none, the file must not end within a frame.
VwStatus vw_mp3_check(VwOpenFile* file, VwReadFault* fault);

/// See vw_header_lead().
VwLead vw_mp3_lead(VwOpenFile* file);

/// Whether an Ogg file has its last page.
///
/// The header promises no length, but the last page of a stream is marked as
/// such (RFC 3533).
VwStatus vw_ogg_check(VwOpenFile* file, VwReadFault* fault);

/* ------------------------------------------------------------------------ */
/* Codes                                                                     */

/// The next value of TPDF dither, in LSB: more than -1, less than 1.
double vw_dither_next(VwRandom* random);

/**
 * Write the codes of a sound, little end first, then silence.
 *
 * @param seed Of the dither.
 * @param room Filled wholly; vw_size_value_bytes() for each value, and as much
 * as the sound takes at least.
 */
void vw_codes_put(const VwSound*  sound,
                  const VwFormat* format,
                  uint64_t        seed,
                  const VwBytes*  room);

/// The code at an index of the values: unsigned for 8 bits, else signed. Not
/// for float.
int32_t vw_codes_at(const VwBytes* codes, VwEncoding encoding, size_t index);

/// The value that a code stands for. Not for float.
float vw_code_value(VwEncoding encoding, long code);

/* ------------------------------------------------------------------------ */
/* Containers: what their rows in encode.c name                              */

/*
 * Make the bytes of a file; see vw_encode(), which has checked that the
 * container carries the encoding.
 *
 * `bytes` is filled in on success. #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (more
 * than 4 GiB); FLAC and Ogg: #VW_NOT_CARRIED (a sample rate that they do not
 * know); a C array: #VW_NO_FRAMES.
 */
VwStatus vw_wav_encode(const VwPiece*    piece,
                       const VwWrapping* wrapping,
                       VwBytes*          bytes);
VwStatus vw_ogg_encode(const VwPiece*    piece,
                       const VwWrapping* wrapping,
                       VwBytes*          bytes);
VwStatus vw_codes_pack(const VwPiece*    piece,
                       const VwWrapping* wrapping,
                       VwBytes*          bytes);
VwStatus vw_raw_encode(const VwPiece*    piece,
                       const VwWrapping* wrapping,
                       VwBytes*          bytes);
VwStatus vw_c_array_encode(const VwPiece*    piece,
                           const VwWrapping* wrapping,
                           VwBytes*          bytes);

/* Read back what tells nothing of its format; see vw_decode(). */
VwStatus vw_raw_decode(const VwBytes*  bytes,
                       const VwFormat* format,
                       VwSound*        sound);
VwStatus vw_c_array_decode(const VwBytes*  bytes,
                           const VwFormat* format,
                           VwSound*        sound);

/* Look at the start of a packed file; see vw_container_look(). */
bool vw_ogg_look(const VwBytes* head, VwPackedHead* told);
bool vw_flac_look(const VwBytes* head, VwPackedHead* told);

/**
 * Cut those blocks out of a stream that hold frames [from, from + n): a decoder
 * returns the frames between the middles of its blocks (Vorbis I specification,
 * section 4.3.8), so the first block only leads in.
 *
 * @param from A block's middle; set to the next one if it is none's.
 * @param cut Filled in on success; free it with vw_bytes_clear().
 * @return False if no blocks have their middles there, and without memory.
 */
bool vw_ogg_cut(const VwBytes* stream, size_t* from, size_t n, VwBytes* cut);

/// Give the one stream of an Ogg file a number and its pages the sums that go
/// with it: writers draw the number by chance, and no two runs would agree.
void vw_ogg_number(VwBytes* bytes, uint32_t number);

#endif
