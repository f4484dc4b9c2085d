/// @file
/// What the command `gauge` measures, each a word behind it.
#ifndef VW_CLI_GAUGING_H
#define VW_CLI_GAUGING_H

#include "cli/options/settings.h"
#include "gauge/board/board.h"

/// Write a board's test sound, or measure a board by a recording of it. Returns
/// the exit status.
int gauge_board(const CommandName* command, const Settings* settings);

/// Gauge a lamp by recordings of its light. Returns the exit status.
int gauge_lamp(const CommandName* command, const Settings* settings);

/// Write a speaker's test sound, or find what recordings of it tell. Returns
/// the exit status.
int gauge_speaker(const CommandName* command, const Settings* settings);

/// Times of lamps and delays are shown in such steps.
#define GAUGE_STEP_MS 0.1

/// An error as it is shown in steps: no measured one is nothing.
static inline double
gauge_to(double error, double step) {
  return error < step ? step : error;
}

/// A test sound that is to be written.
typedef struct {
  const VwSound* sound;
  const char*    name;
  unsigned       cautions; ///< What to take care of when it is played.
  const char*    record;   ///< How it is played and recorded.
} GaugeSound;

/// What lies in a recording again and again, as a picture shows it.
typedef struct {
  const char*    path;  ///< The recording,
  const VwSound* sound; ///< and what is seen of it.
  const char*    headline;
  const char*    description;
  const char*    heading; ///< Of the panel that shows all of them.
  const char*    name;    ///< What one is: hatched.
  const char*    begins;  ///< What happens where it begins,
  const char*    ends;    ///< and where it ends.
  double         first_s; ///< Where the first begins.
  double         long_s;  ///< How long each is.
  double         each_s;  ///< From one to the next.
  size_t         n;       ///< How many are shown; 0: the recording alone.
} GaugePicture;

/// Draw it, as the ending of the picture's name has it.
VwStatus gauge_plot(const GaugePicture* of, const char* plot, VwBytes* bytes);

/// The brightness of a video's pictures.
typedef struct {
  double* brightness; ///< Owned.
  size_t  n;
  size_t  n_missing;   ///< Of them, left out of the video and filled in here.
  bool    timed;       ///< Times stand in the list: else no such is noticed.
  double  times_per_s; ///< Pictures a second by these; NaN: unknown.
} VideoList;

/**
 * Read a list: each line ends in the brightness of a picture. Decimal commas
 * are known if they cannot stand between numbers.
 *
 * @param pictures_per_s As given: shows the unit of the times.
 * @param list Filled in on success; free its brightness.
 * @return As vw_file_read().
 */
VwStatus video_list_read(const char* path,
                         double      pictures_per_s,
                         VideoList*  list);

/// A board, as it was gauged.
typedef struct {
  const Settings* settings;
  const char*     path;      ///< The recording,
  VwSound         recording; ///< as long as it is needed. Owned.
  VwGaugedBoard   board;
  VwStatus        status;
  char*           message; ///< "fault: remedy" where it failed. Owned.
  char*           saved;   ///< The board file; NULL: none. Owned.
  unsigned        rate_hz; ///< Of the test sound; 0: of a loop.
} BoardGauged;

/// Report it in the way asked for. False without memory.
bool gauge_board_report(const BoardGauged* gauged);

/// Whether a board can have the name that it is to be saved under. False, and
/// said, where it cannot.
bool gauge_board_has_name(const Settings* settings);

/// Write what was found as a board file, and the picture, if they are asked
/// for. False, and said, if that fails.
bool gauge_board_save(BoardGauged* gauged);

/// Write a test sound as the files of a command are written, in the format of
/// the settings, and report it. Returns the exit status.
int gauge_write(const CommandName* command,
                const Settings*    settings,
                const GaugeSound*  test);

#endif
