/// @file
/// What a status is called in JSON and in a message.
#ifndef VW_CLI_STATUS_H
#define VW_CLI_STATUS_H

#include <volleyweave/volleyweave.h>

/// The status's word for programs: "CUT_SHORT". Static.
const char* status_word(VwStatus status);

/// "fault: remedy" in one line. To be freed; NULL without memory.
char* status_message(VwStatus status);

/// Say it of `subject` on standard error.
void say_status(const char* subject, VwStatus status);

#endif
