#ifndef VW_NOTES_H
#define VW_NOTES_H

#include "card/card.h"

#include "volleyweave/volleyweave.h"

#define VW_NOTES_FORMAT __attribute__((format(printf, 3, 4)))

/// What is noted of one file or folder. The first failure stays.
typedef struct {
  VwFindings* findings; ///< Where it is noted. Not owned.
  const char* path;     ///< The file or folder. Not owned.
  VwStatus    status;   ///< #VW_OK or #VW_NO_MEMORY.
  bool        placed;   ///< What is noted next lies in these frames.
  size_t      from_frame;
  size_t      to_frame;
} VwNotes;

/// Say where in the sound what is noted next lies: in frames [from, to).
void vw_notes_place(VwNotes* notes, size_t from, size_t to);

/// Note a fault: what keeps the file from playing right.
VW_NOTES_FORMAT void vw_notes_fault(VwNotes*    notes,
                                    const char* remedy,
                                    const char* format,
                                    ...);

/// Note something that only sounds poorer, or does no harm here.
VW_NOTES_FORMAT void vw_notes_warn(VwNotes*    notes,
                                   const char* remedy,
                                   const char* format,
                                   ...);

#endif
