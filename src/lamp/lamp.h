#ifndef VW_LAMP_H
#define VW_LAMP_H

#include "volleyweave/volleyweave.h"

/**
 * Set the lamp of a finished family that has a burst, and why it is on for so
 * long. No lamp track may lie beside its sound yet.
 *
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_lamp_of_family(const VwFamilyOptions* options, VwFamily* family);

#endif
