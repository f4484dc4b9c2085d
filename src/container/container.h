/// @file
/// Bytes of sound files, read and written.
#ifndef VW_CONTAINER_H
#define VW_CONTAINER_H

#include "base/text.h"
#include "store/store.h"

#include "volleyweave/volleyweave.h"

/* ------------------------------------------------------------------------ */
/* Headers of files that come                                                */

/**
 * Look at a file's header before a reader that makes the best of it does.
 *
 * @param file An open one; sets `failed` if it cannot be read.
 * @param fault Filled in with #VW_CUT_SHORT.
 * @return #VW_OK also where nothing is known of the format; #VW_CONTAINER,
 * #VW_CHANNELS, #VW_SAMPLE_RATE, #VW_NO_FRAMES, #VW_CUT_SHORT, #VW_UNREADABLE.
 */
VwStatus vw_header_check(VwOpenFile* file, VwReadFault* fault);

/// What says how long a file is that does not say it, and whose reader would
/// guess: of an MP3 file, a first frame that states it.
typedef struct {
  size_t        n_bytes;    ///< 0: the length is known, nothing comes first.
  unsigned char bytes[256]; ///< To be read before those of the file ...
  uint64_t      from;       ///< ... from here ...
  uint64_t      end;        ///< ... up to here.
} VwLead;

/// Find what has to be read before a file.
VwLead vw_header_lead(VwOpenFile* file);

/// Why a file that passed vw_header_check() could not be opened all the same:
/// #VW_NOT_AUDIO, #VW_CONTAINER, #VW_DAMAGED.
VwStatus vw_header_fault(VwOpenFile* file);

#define VW_TAG_PCM 1U
#define VW_TAG_FLOAT 3U
#define VW_TAG_EXTENSIBLE 0xFFFEU

// The least of a `fmt ` chunk, and what a plain one of PCM has.
#define VW_FORMAT_BYTES 16U

/// A chunk that does not belong where it is; its name is empty without one.
typedef struct {
  char     name[5];
  uint64_t n_bytes; ///< With its head.
} VwStray;

/// The loop points of a file.
typedef struct {
  bool     there;   ///< There is such a chunk.
  bool     whole;   ///< It is as long as its loops want.
  uint64_t n_loops; ///< As it says.
  uint64_t type;    ///< Of the first loop; 0: forward.
  uint64_t start;   ///< Its first frame.
  uint64_t last;    ///< Its last frame, which is played.
} VwLoopPoints;

/// What the chunks of a WAV file say, whether it holds or not.
typedef struct {
  bool         is_wave; ///< It starts as a WAV file.
  uint64_t     file_bytes;
  uint64_t     promised_bytes; ///< By its first size, with the 8 before it.
  bool         has_format;     ///< Before the data.
  uint64_t     format_bytes;
  uint64_t     tag;   ///< As written.
  uint64_t     coded; ///< The tag meant, also where that written is 0xFFFE.
  uint64_t     n_channels;
  uint64_t     rate_hz;
  uint64_t     second_bytes;
  uint64_t     block_bytes;
  uint64_t     bits;
  bool         has_data;
  uint64_t     data_at; ///< Of its first byte.
  uint64_t     data_bytes;
  uint64_t     long_bytes;  ///< What a `ds64` chunk says instead.
  uint64_t     there_bytes; ///< From its first byte to the file's end.
  VwStray      before;      ///< First between the head and the data.
  VwStray      behind;      ///< First after the data, but for loop points.
  VwLoopPoints loop;        ///< After the data.
} VwWavHeader;

/// Read the chunks of an open file; sets `failed` if it cannot be read.
VwWavHeader vw_wav_header_read(VwOpenFile* file);

/**
 * Where the loop lies that a WAV file marks in its `smpl` chunk.
 *
 * @param end Set to one past the loop's last frame; 0 if the file marks none.
 * @return As vw_file_open().
 */
VwStatus vw_read_loop_points(const char* path, size_t* start, size_t* end);

/* ------------------------------------------------------------------------ */
/* Files made                                                                */

/**
 * Make the bytes of a WAV file.
 *
 * The plainest file: format tag 1, 44 bytes before the frames, nothing between;
 * an even number of data bytes; loop points in a `smpl` chunk after the data
 * (Microsoft, "New Multimedia Data Types and Data Techniques" 3.0, 1994: the
 * end counts itself). Float has format tag 3 and the `fact` chunk that goes
 * with it. PCM is rounded to the nearest code and held at the outermost ones.
 * TPDF dither after Lipshitz, Wannamaker and Vanderkooy, J. Audio Eng. Soc.
 * 40(5), 1992; frames of exact zeros at either end and runs of 32 or more such
 * frames stay exact.
 *
 * @param piece The sound and its loop points.
 * @param format Encoding and dither; rate and channels are those of the sound.
 * @param seed Of the dither: same sound, same seed, same bytes.
 * @param bytes Filled in on success; free it with vw_bytes_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (more than 4 GiB).
 */
VwStatus vw_encode_wav(const VwPiece*  piece,
                       const VwFormat* format,
                       uint64_t        seed,
                       VwBytes*        bytes);

/// The words for containers, by which board files name them.
extern const VwWord vw_container_words[];

/// What a person calls a container: "WAV", "Ogg". Static.
const char* vw_container_name(VwContainer container);

/**
 * Whether a container can carry an encoding: FLAC 16 and 24 bits, a C array
 * whole numbers, the others all. In Ogg the encoding does not matter.
 */
bool vw_container_carries(VwContainer container, VwEncoding encoding);

/// RMS of the noise that writing in `encoding` with dither adds, dBFS.
double vw_encoding_noise_dbfs(VwEncoding encoding);

/// What a name promises by its ending.
typedef enum {
  VW_PROMISE_NOTHING,
  VW_PROMISE_SOURCE, ///< Source text, perhaps with a sound in it.
  VW_PROMISE_CODES,  ///< A sound that tells nothing of its format, or notes.
  VW_PROMISE_SOUND   ///< A recording, as takes are.
} VwPromise;

/// What a name promises, in any letters.
VwPromise vw_name_promises(const char* name);

/* ------------------------------------------------------------------------ */
/* Files read back                                                           */

/// Whether its files tell nothing of their format: vw_decode() reads them.
bool vw_container_is_bare(VwContainer container);

/// Whether its files are packed: smaller than their codes.
bool vw_container_is_packed(VwContainer container);

/// What the start of a packed file tells beside what a reader does.
typedef struct {
  bool     exact;        ///< It is packed without loss.
  unsigned bits;         ///< Of a code; 0: it does not say.
  unsigned block_frames; ///< As vw_ogg_block_frames().
} VwPackedHead;

/// So many bytes of a file are enough for vw_container_look().
#define VW_PACKED_HEAD_BYTES 64U

/// Whether a file starts as those of a packed container do; then what it tells.
bool vw_container_look(VwContainer    container,
                       const VwBytes* head,
                       VwPackedHead*  told);

/**
 * Read back raw codes or a C array.
 *
 * @param wrapping What they were made with; `format` tells all, the sample rate
 * and the channels too.
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (another container),
 * #VW_DAMAGED (no array of such codes), #VW_NO_FRAMES.
 */
VwStatus vw_decode(const VwBytes*    bytes,
                   const VwWrapping* wrapping,
                   VwSound*          sound);

/**
 * Read a file that was made with a wrapping, in whichever container.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return As vw_read() and vw_decode().
 */
VwStatus vw_read_made(const char*       path,
                      const VwWrapping* wrapping,
                      VwSound*          sound);

/**
 * The longest block of an Ogg file with Vorbis, frames: up to so many a player
 * may add to its end. 0 where the bytes are none, or its first 57 are missing.
 */
unsigned vw_ogg_block_frames(const VwBytes* bytes);

/// Whether the last block of an Ogg file with Vorbis is used up to its end, as
/// that of a loop is which is cut from its repeats; false without memory.
bool vw_ogg_is_whole(const VwBytes* stream);

/// A loop of a multiple of so many frames is coded in whole blocks, in Ogg:
/// half the longest that the encoder makes at any rate.
#define VW_OGG_UNIT_FRAMES 1024U

#endif
