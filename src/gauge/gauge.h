/// @file
/// A board and its speaker, measured by a recording of what they play.
#ifndef VW_GAUGE_H
#define VW_GAUGE_H

#include "volleyweave/volleyweave.h"

/* ------------------------------------------------------------------------ */
/* The test sound of a board                                                 */

/// The file that a test sound has to be.
typedef struct {
  unsigned rate_hz;
  unsigned n_channels;
  size_t   frames_unit; ///< The file is a multiple of it, at least 1.
  size_t   frames_most; ///< As many as fit; 0: no limit.
} VwTestWish;

/// The channels in which a mark sounds.
typedef enum {
  VW_MARK_ALL,    ///< The same in all.
  VW_MARK_LEFT,   ///< In the first alone.
  VW_MARK_RIGHT,  ///< In the second alone.
  VW_MARK_OPPOSED ///< In both, the second inverted: a sum of both is silent.
} VwMarkIn;

/// A mark: a short glide, up or down.
typedef struct {
  double   place_s; ///< Where it starts in the file.
  bool     falls;   ///< From the high to the low frequency.
  VwMarkIn in;
} VwMark;

/// As many marks as a test sound has.
#define VW_MARKS_MOST 16U

/// A test sound, as it is laid out. The places and glides of the marks differ
/// from format to format, and tell where in the file one is.
typedef struct {
  VwMark   marks[VW_MARKS_MOST];
  size_t   n_marks;
  double   mark_s; ///< How long a mark is.
  double   low_hz;
  double   high_hz;
  unsigned rate_hz;
  unsigned n_channels;
  size_t   n_frames;
} VwTestSound;

/**
 * Lay out a test sound: 2 s long, or shorter if the board takes no more.
 *
 * @param test Filled in on success.
 * @return #VW_OK, #VW_FILE_TOO_BIG (less than 1 s fits).
 */
VwStatus vw_test_plan(const VwTestWish* wish, VwTestSound* test);

/// A mark at a time after its start, of height 1; 0 outside of it. With
/// `quarter` a quarter of a turn later, as the other half of its envelope.
double vw_test_mark_at(const VwTestSound* test,
                       bool               falls,
                       bool               quarter,
                       double             time_s);

/**
 * Make the sound.
 *
 * @param sound Filled in on success; free it with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_test_make(const VwTestSound* test, VwSound* sound);

/* ------------------------------------------------------------------------ */
/* A lamp                                                                    */

/// A lamp, as its light was recorded.
typedef struct {
  double rate_hz;         ///< Of the line through the flashes on it.
  double uncertainty_hz;  ///< 95 % of the true rates lie within.
  double jitter_ms;       ///< RMS of the flashes' times about that line.
  size_t flashes;         ///< On the line.
  double on_ms;           ///< Mean on-time. What is bright for the shorter part
                          ///< of the period counts as lit: a recording may be
                          ///< upside down.
  double on_jitter_ms;    ///< RMS of the on-times about their mean.
  double dark_ms;         ///< The other part, which is the on-time of a lamp
                          ///< that is lit for the longer part.
  double hum_hz;          ///< Of the mains, as it was taken away.
  double sound_lag_ms;    ///< From a flash to its shot's start in the other
                          ///< channel, median; NaN without.
  double   sound_rate_hz; ///< Of the shots there; NaN if they are not even.
  size_t   shots;         ///< That have a flash; 0 without a sound.
  unsigned channel;       ///< The lamp's.
} VwLampGauged;

/**
 * Gauge a lamp by a recording of a phototransistor or a solar cell at a
 * microphone's input (common practice), alone or, in stereo, beside the sound.
 *
 * Edges of the light are where the mean of 0.7 ms jumps; mains hum is taken
 * away before. Whether the light is the first channel or the second is found:
 * it is the one whose edges lie evenly.
 *
 * @param gauged Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_TOO_SHORT, #VW_SILENT, #VW_NO_STEADY_RATE.
 */
VwStatus vw_lamp_gauge(const VwSound* recording, VwLampGauged* gauged);

/**
 * The same by the brightness of each picture of a video.
 *
 * @param brightness In any unit, linear in the light.
 * @param pictures_per_s Of the video.
 * @return As vw_lamp_gauge().
 */
VwStatus vw_lamp_gauge_video(const double* brightness,
                             size_t        n_pictures,
                             double        pictures_per_s,
                             VwLampGauged* gauged);

#endif
