#include "cli/message/caution.h"

#include "cli/message/flash.h"

#include <stddef.h>

const char*
caution_flash(double pulse_hz) {
  return flash_is_fast(pulse_hz)
           ? "lamps flashing this fast can trigger seizures in people with "
             "photosensitive epilepsy: warn people, follow local rules"
           : NULL;
}

const char*
caution_hearing(void) {
  return "a small speaker near an ear is far louder than at arm's length: try "
         "it with the volume down, away from heads";
}

const char*
caution_look_alike(void) {
  return "a prop that looks like a weapon may be taken for one: local rules "
         "come first";
}
