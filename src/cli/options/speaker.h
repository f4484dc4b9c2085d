/// @file
/// Speakers by class, by corner, or as gauged: NAME.speaker.ini.
#ifndef VW_CLI_SPEAKER_H
#define VW_CLI_SPEAKER_H

#include <volleyweave/volleyweave.h>

#include <stdbool.h>
#include <stdio.h>

#define SPEAKER_FILE_ENDING ".speaker.ini"

/// The word for a surface transducer.
#define SPEAKER_TRANSDUCER "transducer"

/// The file that a value of --speaker names; NULL if it names none, or without
/// memory. To be freed.
char* speaker_file(const char* value);

/// A value of --speaker as a text file names it, seen from here: speakers'
/// files lie beside it. To be freed; NULL without memory.
char* speaker_from(const char* text_file, const char* value);

/// Read a speaker's file. False, and said, if there are faults in it.
bool speaker_file_read(const char* path, VwSpeaker* speaker);

/// Print one. What was measured stands in front as comments.
void speaker_file_print(const VwSpeaker* speaker, FILE* out);

/// Read a diameter of 15 to 57 mm.
bool speaker_of_diameter(const char* shown, double mm, VwSpeaker* speaker);

#define SPEAKER_DIAMETERS "15mm, 20mm, 28mm, 40mm or 57mm"

#endif
