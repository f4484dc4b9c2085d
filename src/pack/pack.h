#ifndef VW_PACK_H
#define VW_PACK_H

#include "base/ranges.h"
#include "base/status.h"
#include "board/board.h"
#include "burst/burst.h"

// As many takes as a sound may have.
#define VW_PACK_TAKES_MOST 64U

/// What to make of a sound's takes.
typedef enum {
  VW_MAKE_SHOT,  ///< The clean single shot.
  VW_MAKE_LOOP,  ///< Rapid fire, in the board's form.
  VW_MAKE_BURST, ///< A finished burst.
  VW_MAKE_WHOLE  ///< The takes as they are, in the board's format.
} VwMake;

/// One sound of a prop. Nothing in it is owned.
typedef struct {
  const char*        name;    ///< Of the sound, one of its kind in the prop.
  const char*        group;   ///< Of sounds, or NULL.
  unsigned           slot;    ///< 1 and up; 0: none.
  VwMake             make;    ///< What to make.
  const char* const* takes;   ///< Names of `n_takes` files.
  size_t             n_takes; ///< 1 to 64; more than one take turns.
  const char*        run_in_take;   ///< A file, or NULL: the loop's own run-in.
  const char*        ring_out_take; ///< Likewise.
  VwFamilyOptions    options;       ///< As asked, the board not applied yet.
  bool own_channels; ///< Its number of channels goes before the board's first,
                     ///< where the board takes it.
  bool   own_encoding; ///< The same of its encoding.
  double offset_lu;    ///< Louder (or softer) than the rest, LU.
} VwSoundWish;

/// What becomes of a pack's loudness. A sound whose own level aims at something
/// else than #VW_AIM_LOUDEST keeps to that and takes no part.
typedef enum {
  VW_PACK_LOUDEST,   ///< What nine tenths of the families reach with the
                     ///< limiting allowed; the others as loud as they can be.
  VW_PACK_ALL_REACH, ///< What every family reaches.
  VW_PACK_LOUDNESS   ///< A loudness in LUFS.
} VwPackAim;

/// What to pack for, where to, and how. Start from vw_pack_defaults().
typedef struct {
  const VwBoard* board;  ///< What is packed for.
  VwBoardWish    wish;   ///< Beside the board.
  const char*    folder; ///< The pack's folder, such as OUT/BOARD, without a
                         ///< slash at its end; made where it is missing. The
                         ///< version before is kept in `folder`.before.
  VwReadOptions reading; ///< How takes are read.
  VwPackAim     aim;     ///< Default #VW_PACK_LOUDEST.
  double loudness_lufs;  ///< For #VW_PACK_LOUDNESS, -60 to 0; for the others
                         ///< what was found before, which is kept, or NaN
                         ///< (default): find it.
  bool fit;              ///< Lower sample rates until all fits. Default false.
  bool keep_old;    ///< Remove no file that no sound makes any more. Default
                    ///< false.
  const char* prop; ///< Whose sounds they are, or NULL (default): nobody's. A
                    ///< pack of another prop is not replaced: one of another
                    ///< name, and of another file.
  uint64_t prop_at; ///< Digest of where the prop's file is.
  bool force; ///< Replace also what is not ours, and another prop's pack. Never
              ///< a take.
} VwPackOptions;

/// The defaults of #VwPackOptions; the board is NULL.
VwPackOptions vw_pack_defaults(void);

/// What becomes of a file in this run.
typedef enum {
  VW_PACK_FILE_NEW,      ///< There is none of its name yet.
  VW_PACK_FILE_REPLACED, ///< It replaces another.
  VW_PACK_FILE_SAME      ///< It is there already, byte for byte.
} VwPackFileFate;

/// A file of a pack.
typedef struct {
  VwPart   part;       ///< Which part of the family it is.
  size_t   take;       ///< Index of the take that it is made from.
  char*    name;       ///< In the pack's folder, with its group's. Owned.
  size_t   n_frames;   ///< Its length.
  size_t   loop_start; ///< First frame of what repeats in it, once it is made,
  size_t   loop_end;   ///< and one past the last; 0: nothing does.
  uint64_t n_bytes;    ///< Its size; exact once it is made, and before that
                       ///< for WAV and raw.
  VwPackFileFate fate; ///< Known once it is made; of one that plays in written
                       ///< order, after vw_pack_end().
  uint64_t digest;     ///< Of its bytes, once it is made; else 0.
} VwPackFile;

/// A sound of a pack.
typedef struct {
  const VwSoundWish* wish; ///< As asked.
  VwFamilyOptions options; ///< The board applied; once settled, with the gain
                           ///< that it gets.
  bool        measured; ///< Its figures are known, or `status` tells why not.
  VwStatus    status;   ///< What became of it.
  const char* subject; ///< The take or file at fault, or NULL. Not to be freed.
  VwReadFault fault;   ///< With #VW_CUT_SHORT.
  VwShotFacts facts;   ///< Of its first take.
  double stretch_db; ///< Of its first take: the stretch's loudest, relative to
                     ///< the recording's.
  size_t own_shots[VW_CYCLE_SHOTS_MOST]; ///< Which shots of its only take take
                                         ///< turns, from 0 on.
  size_t   n_own_shots; ///< How many; 0: it has one, or is no rapid fire.
  VwFamily family;      ///< The figures of its family, without any sound: as
                        ///< made, or as it would be; `uses`, `shots`, `turns`
                        ///< and `pieces` are NULL.
  double    late_start_ms; ///< The most of any of its takes.
  VwDownmix downmix;       ///< Of its first take.
  bool      start_faded;   ///< The same.
  bool      end_faded;     ///< The same.
  bool      aimed;         ///< It takes part in the pack's loudness.
  double    reach_lufs;    ///< The highest loudness of the pack that its family
                           ///< reaches; NaN where it takes no part.
  double lacks_lu;         ///< What it lacks of the pack's loudness, or 0.
  size_t family_of; ///< Index of the first sound with the same takes, with
                    ///< which it shares one gain; its own index otherwise.
  double kept[8];   ///< For each sample rate of the board's list: the share
                    ///< of what the speaker can play that is kept, 0 to 1.
  unsigned    rate_before_hz; ///< Sample rate before `fit` lowered it, or 0.
  VwPackFile* files;          ///< What it makes, once measured. Owned.
  size_t      n_files;
  bool        due; ///< Once settled: vw_pack_render() has to make it.
} VwPackSound;

/// A file that an earlier run made and no sound makes any more.
typedef struct {
  char* name;    ///< In the pack's folder. Owned.
  bool  changed; ///< Somebody changed it since: it is never removed.
  bool  removed; ///< vw_pack_end() removed it; not where a sound failed.
} VwPackOld;

/// Which change makes files smaller.
typedef enum {
  VW_PACK_RATE,     ///< Another sample rate of the board's list, for all.
  VW_PACK_ENCODING, ///< Another encoding of the board's list, for all.
  VW_PACK_CHANNELS, ///< One channel, where the board takes it.
  VW_PACK_CYCLE,    ///< Loops of as few shots as there are takes.
  VW_PACK_FIT       ///< The lowest sample rate of each sound that keeps 95 %
                    ///< of what the speaker can play: what `fit` does.
} VwPackChangeKind;

/// A change, and how large the pack would be with it (estimated).
typedef struct {
  VwPackChangeKind kind;
  unsigned         rate_hz;         ///< For #VW_PACK_RATE.
  VwEncoding       encoding;        ///< For #VW_PACK_ENCODING.
  uint64_t         n_bytes_on_card; ///< All files, in whole clusters.
  bool             fits;            ///< The capacity holds it.
} VwPackChange;

/// A pack as a whole, once settled.
typedef struct {
  double loudness_lufs;  ///< The pack's loudness, or NaN where no sound takes
                         ///< part.
  double loudest_lufs;   ///< What nine tenths of the families reach, or NaN.
  double all_reach_lufs; ///< What every family reaches, or NaN.
  size_t n_families;     ///< That take part.
  size_t n_lacking;      ///< Of these, how many lack something.
  size_t n_failed;       ///< Sounds that failed.
  size_t n_unmeasured; ///< Sounds to be measured (again) before going on: where
                       ///< `fit` gave them another sample rate.
  size_t       n_due;  ///< Sounds to render.
  size_t       n_same; ///< In the end: files that were there, byte for byte.
  size_t       n_other;         ///< In the end: files written, or to write.
  size_t       n_files;         ///< Files when all is made.
  uint64_t     n_bytes;         ///< Of these together.
  uint64_t     n_bytes_on_card; ///< The same in whole clusters, folders too.
  uint64_t     n_bytes_over;    ///< By how much they exceed the capacity.
  size_t       n_files_over;    ///< By how many they exceed the most files.
  VwPackChange changes[16];     ///< Where the pack is too big: what would help.
  size_t       n_changes;
} VwPackSums;

/// What a pack keeps for itself.
typedef struct VwPackStore VwPackStore;

/// A prop's sounds on their way to a board. Starts all zero.
typedef struct {
  VwPackOptions options; ///< As asked.
  VwPackSound*  sounds;  ///< One for each wish. Owned.
  size_t        n_sounds;
  VwFaults      faults; ///< Why nothing can be packed: slots and names. Owned.
  VwPackOld*    old;    ///< What is left of earlier runs. Owned.
  size_t        n_old;
  bool          unfinished; ///< The run before this one was stopped on its way.
  VwPackSums    sums;       ///< Once settled.
  VwPackStore*  store;      ///< The library's own.
} VwPack;

/**
 * Begin to pack: check the wishes against the board and each other, and read
 * which files the last run left.
 *
 *     vw_pack_open
 *     vw_pack_measure    for every sound, from as many threads as wanted
 *     vw_pack_settle     while `sums.n_unmeasured`: measure those, settle again
 *     vw_pack_begin      from here on something is written
 *     vw_pack_render     for every sound that is due, in threads again
 *     vw_pack_end
 *     vw_pack_clear
 *
 * Nothing is written before vw_pack_begin(), and nothing at all without it:
 * what the pack would be is then known. Sounds, bytes and figures are the same
 * for any number of threads. At any moment every file under its final name is
 * whole, and the list in the folder says whether the pack is. Until
 * vw_pack_end() the files of the last run stay; then those go that no sound
 * makes any more, but for what somebody changed.
 *
 * A file that is there already, byte for byte, is not written again, unless
 * another is and the board plays in written order: then all are, in the order
 * of their slots.
 *
 * @param wishes The sounds. Must outlive the pack, as all that they and
 * `options` point to.
 * @param pack Filled in on success; free it with vw_pack_clear(). Where its
 * `faults` are not empty, it cannot be begun.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION, #VW_NOT_A_FOLDER.
 */
VwStatus vw_pack_open(const VwSoundWish*   wishes,
                      size_t               n_wishes,
                      const VwPackOptions* options,
                      VwPack*              pack);

/**
 * Find out what a sound can be: its sizes, its facts, how loud it can get.
 *
 * May be called for different sounds from several threads at once. Keeps
 * figures alone.
 *
 * @return The sound's `status`; others may go on.
 */
VwStatus vw_pack_measure(VwPack* pack, size_t index);

/**
 * Settle the loudness, each family's gain, and what can be made.
 *
 * Sounds of the same takes get one gain, the smallest that any of them needs.
 *
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_pack_settle(VwPack* pack);

/**
 * Make the folder. From here to vw_pack_end() no other process begins the same
 * pack. Where nothing can be written beside it, vw_pack_end() says so, unless
 * nothing changes.
 *
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (the pack has faults), #VW_BUSY
 * (also where another run ended since it was opened),
 * #VW_NO_FOLDER, #VW_NOT_A_FOLDER, #VW_FOLDER_READONLY, #VW_DISK_FULL,
 * #VW_WRITE_FAILED.
 */
VwStatus vw_pack_begin(VwPack* pack);

/**
 * Make the files of a sound, and put those that are not there yet beside the
 * folder. Does nothing for a sound that is not due.
 *
 * May be called for different sounds from several threads at once.
 *
 * @return The sound's `status`; others may go on.
 */
VwStatus vw_pack_render(VwPack* pack, size_t index);

/**
 * Keep the version before, give all files their names, in the order of their
 * slots, and finish the list. Writes nothing where nothing changes.
 *
 * Of sounds that failed, the files of earlier runs stay; where one failed while
 * it was made, the list keeps saying that the pack is unfinished. Needed to
 * leave nothing behind, also where all of them failed.
 *
 * @return As vw_pack_begin().
 */
VwStatus vw_pack_end(VwPack* pack);

/// Let others at the folder again, without what was made, where it was begun
/// and not ended.
void vw_pack_leave(VwPack* pack);

/// Free what `pack` owns and set it to zero. NULL is accepted.
void vw_pack_clear(VwPack* pack);

/// The sounds in the order of their slots, those without one last. To be freed
/// with free(), or NULL without memory.
size_t* vw_pack_by_slot(const VwPack* pack);

/// The share of what the speaker can play that one of the board's sample rates
/// keeps of a sound.
double vw_pack_kept(const VwBoard*     board,
                    const VwPackSound* sound,
                    unsigned           rate_hz);

/**
 * What a pack's list calls the sound in a file, where the file's name does not
 * tell: on a board that plays by number.
 *
 * @param folder The pack's.
 * @param file Its name in there, with its group's.
 * @return To be freed; NULL where the list has none.
 */
char* vw_pack_sound_in(const char* folder, const char* file);

#endif
