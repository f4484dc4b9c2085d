/// @file
/// A speaker that is gauged: its recordings, and what was found in them.
#ifndef VW_CLI_GAUGING_SPEAKER_H
#define VW_CLI_GAUGING_SPEAKER_H

#include "cli/message/figures.h"
#include "cli/options/settings.h"
#include "gauge/speaker/speaker.h"

/// One recording.
typedef struct {
  const char*     path;
  VwSweepHeard    heard;
  VwSpeakerGauged gauged; ///< By it alone.
  bool            lossy;  ///< Its format leaves out what is hardly heard.
  bool            used;
  VwStatus        status;  ///< Why it is not,
  char*           message; ///< in words. Owned.
} SpeakerRecording;

/// All of them.
typedef struct {
  const Settings*   settings;
  SpeakerRecording* recordings; ///< Owned.
  size_t            n_recordings;
  size_t            n_used;
  VwSpeakerGauged   gauged; ///< By all that are used, or by the best one.
  bool              transducer;
  size_t            best;  ///< Of a transducer's several.
  char*             saved; ///< The file it goes to, or NULL. Owned.
} SpeakerReport;

/// All figures. To be freed, or handed to others.
Figures* speaker_figures(const SpeakerReport* report);

/// Print them for a person.
void speaker_text(const SpeakerReport* report, FILE* out);

/// Say on standard error what about a recording cannot be trusted, and what
/// can.
void speaker_warn(const SpeakerRecording* recording);

/// Draw what it plays before and after, and what is cut.
VwStatus speaker_plot(const SpeakerReport* report, VwBytes* bytes);

#endif
