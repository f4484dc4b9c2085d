#ifndef VW_CLI_PLOT_PLOT_H
#define VW_CLI_PLOT_PLOT_H

#include "cli/options/settings.h"
#include "cli/report/card.h"
#include "cli/report/report.h"

#include "volleyweave/pictures.h"

/**
 * Whether the picture that is asked for could be written, before any work.
 *
 * @return #EXIT_DONE, also where none is asked for; #EXIT_USAGE or #EXIT_FILE,
 * and said.
 */
int plot_check(const Settings* settings);

/// Say why a picture could not be drawn or written.
void plot_say(const char* path, VwStatus status);

/// The same in one text. To be freed; NULL without memory.
char* plot_message(VwStatus status);

/* What is in them: a picture each, as asked for by the settings. */

VwStatus plot_inspect(const Report* report, VwBytes* bytes);

/// Of the first take and its shot, or of what it was converted to.
VwStatus plot_shot(const Report* report, VwBytes* bytes);

VwStatus plot_loop(const Report* report, VwBytes* bytes);

/// Of a file as it stands, drawn as the ending of `path` has it.
VwStatus plot_file(const CheckReport* report,
                   const VwSound*     sound,
                   const char*        path,
                   VwBytes*           bytes);

/// What a picture becomes, by the ending of its name.
VwPictureFormat plot_format(const char* path);

#endif
