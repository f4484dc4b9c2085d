#include "card/internal.h"
#include "card/loop.h"
#include "container/container.h"
#include "signal/signal.h"
#include "store/store.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MEND "mend it with `volleyweave mend`"

// One shot out of step is noticed from about 6 ms on ("Time discrimination in a
// monotonic, isochronous sequence", J. Acoust. Soc. Am., 1995).
#define JITTER_MOST_MS 6.0

// A gap is the one that was noted, which is whole frames, if they are less than
// so many thousandths of a frame apart.
#define GAP_NEAR 1001.0

static double
ms_of(const VwSound* loop, double n_frames) {
  return 1000.0 * n_frames / loop->rate_hz;
}

/// Place what is noted next at the seam: the last frame of the loop.
static void
place_seam(const VwLoopFacts* facts, VwNotes* notes) {
  const size_t end = facts->start + facts->n_frames;
  vw_notes_place(notes, end - 1U, end);
}

static void
note_offset(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  (void)loop;
  vw_notes_fault(notes,
                 MEND,
                 "it has a DC offset of %.4f of full scale: it clicks at both "
                 "ends",
                 facts->offset);
}

static void
note_padding(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  const size_t n = facts->flaws[VW_FLAW_PADDING].front;
  vw_notes_place(notes, facts->start, facts->start + n);
  vw_notes_fault(
    notes,
    MEND,
    "it starts with %zu frames (%.1f ms) of padding: the fire stutters",
    n,
    ms_of(loop, (double)n));
}

static void
note_gap(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  const VwFlaw* const gap = &facts->flaws[VW_FLAW_GAP];
  const size_t        n = gap->front + gap->back;
  const size_t        end = facts->start + facts->n_frames;
  if (gap->back) {
    vw_notes_place(notes, end - gap->back, end);
  } else {
    vw_notes_place(notes, facts->start, facts->start + gap->front);
  }
  if (facts->rest_ms > 0.0) {
    vw_notes_fault(notes,
                   "make a loop of it with `volleyweave loop`",
                   "its seam is quiet for %.1f ms, %.1f ms too long: the fire "
                   "stops there",
                   facts->rest_ms,
                   ms_of(loop, (double)n));
    return;
  }
  vw_notes_fault(notes,
                 MEND,
                 "it has %.1f ms too much silence at its %s: the fire stutters",
                 ms_of(loop, (double)n),
                 gap->back && gap->front ? "ends"
                 : gap->back             ? "end"
                                         : "start");
}

static void
note_cycle(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  const VwCycle* const cycle = &facts->cycle;
  place_seam(facts, notes);
  vw_notes_fault(notes,
                 MEND,
                 "it is %.1f ms too %s for whole shots, one every %.1f ms: the "
                 "fire limps",
                 ms_of(loop, fabs(cycle->left_frames)),
                 cycle->left_frames < 0.0 ? "short" : "long",
                 ms_of(loop, cycle->period_frames));
}

static void
note_seam(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  const VwSeam* const seam = &facts->seam;
  const bool          bends =
    seam->step <= VW_SEAM_MOST || seam->step < 0.5 * seam->slope;
  (void)loop;
  place_seam(facts, notes);
  vw_notes_fault(notes,
                 MEND,
                 "its seam clicks: the sound %s there %.1f times as sharply "
                 "(%.1f is heard)",
                 bends ? "bends" : "steps",
                 facts->flaws[VW_FLAW_SEAM].size,
                 VW_SEAM_MOST);
}

/// What says that a flaw is there.
typedef void (*Note)(const VwSound*     loop,
                     const VwLoopFacts* facts,
                     VwNotes*           notes);

static const Note note_flaw[VW_N_FLAWS] = {[VW_FLAW_OFFSET] = note_offset,
                                           [VW_FLAW_PADDING] = note_padding,
                                           [VW_FLAW_GAP] = note_gap,
                                           [VW_FLAW_CYCLE] = note_cycle,
                                           [VW_FLAW_SEAM] = note_seam};

/* What is no fault of the loop, or cannot be mended */

const char*
vw_loop_packing(const char* path) {
  unsigned char head[4] = {0};
  VwOpenFile    file = {0};
  if (!vw_file_open(path, &file)) {
    (void)vw_file_get(&file, head, sizeof(head), 0);
    vw_file_close(&file);
  }
  return !memcmp(head, "OggS", 4) ? "Ogg"
         : !memcmp(head, "ID3", 3) ||
             (head[0] == 0xFFU && (head[1] & 0xE0U) == 0xE0U)
           ? "MP3"
           : NULL;
}

/// Whether the ends are found to be too far apart, or too near.
static bool
has_gap(const VwLoopFacts* facts) {
  return facts->flaws[VW_FLAW_GAP].there ||
         facts->flaws[VW_FLAW_PADDING].there ||
         facts->flaws[VW_FLAW_CYCLE].there;
}

static void
warn_of_side(const VwLoopFacts* facts, VwNotes* notes) {
  if (fabs(facts->side_late_ms) > 0.0) {
    vw_notes_warn(notes,
                  "convert it with --channels 1",
                  "its %s side is %.1f ms late, and the sum of both combs",
                  facts->side_late_ms > 0.0 ? "right" : "left",
                  fabs(facts->side_late_ms));
  }
}

/// Warn of what is no loop, or may be none.
static void
warn_of_shots(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  if (facts->single) {
    vw_notes_warn(notes,
                  "make a loop of it with `volleyweave loop`",
                  "this is a single shot, not a loop: it dies away");
  } else if (facts->several) {
    vw_notes_warn(notes,
                  "cut it apart with `volleyweave split` and loop one shot",
                  "this is no loop: its %zu shots are uneven",
                  facts->shots);
  } else if (facts->shots == 1U && !has_gap(facts) && !facts->noted &&
             (double)loop->n_frames > VW_LOOP_SINGLE_LEAST_S * loop->rate_hz) {
    vw_notes_warn(notes,
                  "make a loop of it with `volleyweave loop` if it is none",
                  "it holds one shot and may be no loop");
  }
}

static void
warn(const VwSound* loop, const VwLoopFacts* facts, VwNotes* notes) {
  const VwCycle* const     cycle = &facts->cycle;
  const char* const        packed = vw_loop_packing(notes->path);
  static const char* const names[] = {[VW_PART_SHOT] = "shot",
                                      [VW_PART_RUN_IN] = "run-in",
                                      [VW_PART_LOOP] = "loop",
                                      [VW_PART_RING_OUT] = "ring-out",
                                      [VW_PART_BURST] = "burst",
                                      [VW_PART_WHOLE] = "whole sound"};
  if (facts->once) {
    vw_notes_warn(notes,
                  "check the .loop file of the same name instead, or rename it",
                  "a %s is played once, so no seam is judged",
                  names[facts->part]);
    return;
  }
  warn_of_side(facts, notes);
  if (packed) {
    vw_notes_warn(notes,
                  "write it as WAV with `volleyweave mend`",
                  "a loop in %s: most players add silence at each repeat",
                  packed);
  }
  if (!has_gap(facts) && !cycle->even && cycle->left_frames < 0.0) {
    place_seam(facts, notes);
    vw_notes_warn(notes,
                  "give the board's --gap, or make the loop again",
                  "it is %.1f ms too short for whole shots if no gap follows",
                  ms_of(loop, -cycle->left_frames));
  }
  if (facts->heard_gap_ms > 0.0) {
    place_seam(facts, notes);
    vw_notes_warn(notes,
                  "make it again at another --fire-rate",
                  "the board's gap of %.1f ms is heard after every %zu shot%s",
                  facts->heard_gap_ms,
                  facts->shots,
                  facts->shots == 1U ? "" : "s");
  }
  if (facts->true_peak_dbtp > 0.0) {
    vw_notes_warn(notes,
                  "write it again, softer",
                  "played on, its true peak is %.2f dBTP: the board's "
                  "converter clips it",
                  facts->true_peak_dbtp);
  }
  if (facts->jitter_ms > JITTER_MOST_MS) {
    vw_notes_warn(notes,
                  "make it again with `volleyweave loop`",
                  "its shots are uneven by %.1f ms (over %.0f ms is heard)",
                  facts->jitter_ms,
                  JITTER_MOST_MS);
  }
  warn_of_shots(loop, facts, notes);
}

/* A file */

/// Keep what repeats of a file's sound.
static VwStatus
take_loop(const char* path, const VwSound* sound, VwLoopFacts* facts) {
  size_t         end = 0;
  const VwStatus st = vw_read_loop_points(path, &facts->start, &end);
  if (st) {
    return st;
  }
  facts->marked = end <= sound->n_frames && facts->start < end;
  if (!facts->marked) {
    facts->start = 0;
    end = sound->n_frames;
  }
  facts->n_frames = end - facts->start;
  return vw_loop_is_short(facts->n_frames, sound->rate_hz) ? VW_TOO_SHORT
                                                           : VW_OK;
}

VwStatus
vw_loop_note(const VwSound*     sound,
             const char*        path,
             const VwLoopFacts* facts,
             VwFindings*        findings) {
  VwFindings made = {.n_files = 1U};
  VwNotes    notes = {.findings = &made, .path = path};
  VwSound    loop = *sound;
  loop.values += facts->start * sound->n_channels;
  loop.n_frames = facts->n_frames;
  for (int kind = VW_N_FLAWS; kind-- > 0;) {
    if (facts->flaws[kind].there) {
      note_flaw[kind](&loop, facts, &notes);
    }
  }
  warn(&loop, facts, &notes);
  if (notes.status) {
    vw_findings_clear(&made);
    return notes.status;
  }
  *findings = made;
  return VW_OK;
}

/// Leave out what counts only for what is played on.
static void
take_once(const VwLoopAsked* asked, VwLoopFacts* facts) {
  facts->once = true;
  facts->part = asked->part;
  facts->heard_gap_ms = 0.0;
  for (int kind = 0; kind < VW_N_FLAWS; ++kind) {
    facts->flaws[kind].there = false;
  }
}

/// Go by what was noted as a loop was made here for the gap that is asked, or
/// for none: then it is whole, however its shots differ.
static void
take_noted(const char*        path,
           const VwSound*     sound,
           const VwLoopAsked* asked,
           VwLoopFacts*       facts) {
  VwLoopKnown known = {0};
  if (asked->has_kind || !vw_made_loop(path, &known) ||
      fabs(known.gap_ms - asked->gap_ms) * sound->rate_hz > GAP_NEAR) {
    return;
  }
  const double gap = known.gap_ms / 1000.0 * sound->rate_hz;
  const double period = ((double)facts->n_frames + gap) / (double)known.shots;
  facts->noted = true;
  facts->single = false;
  facts->goes_on = false;
  facts->several = false;
  facts->shots = known.shots;
  facts->fire_rate_per_s = sound->rate_hz / period;
  facts->cycle = (VwCycle){period, 0.0, known.shots, true, true, true};
  facts->flaws[VW_FLAW_CYCLE].there = false;
  facts->flaws[VW_FLAW_GAP].there = false;
  facts->rest_ms = 0.0;
}

VwStatus
vw_loop_read(const char*          path,
             const VwReadOptions* reading,
             const VwLoopAsked*   asked,
             VwSound*             sound,
             VwLoopFacts*         facts) {
  VwSound     read = {0};
  VwLoopFacts made = {0};
  VwStatus    st = vw_read(path, reading, &read, NULL);
  st = st ? st : take_loop(path, &read, &made);
  for (size_t i = 0; !st && i < read.n_frames * read.n_channels; ++i) {
    st = isfinite(read.values[i]) ? VW_OK : VW_NOT_FINITE;
  }
  if (!st) {
    VwSound loop = read;
    loop.values += made.start * read.n_channels;
    loop.n_frames = made.n_frames;
    st = vw_loop_judge(&loop, asked, &made);
  }
  if (!st && asked->once) {
    take_once(asked, &made);
  } else if (!st) {
    take_noted(path, &read, asked, &made);
  }
  if (st) {
    vw_sound_clear(&read);
    return st;
  }
  *sound = read;
  *facts = made;
  return VW_OK;
}
