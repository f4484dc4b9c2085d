/// @file
/// What is said, wherever they are handed out, of sounds, lamps and props.
#ifndef VW_CLI_CAUTION_H
#define VW_CLI_CAUTION_H

/// Of a lamp that flashes so often; NULL where that is not too fast. Static.
const char* caution_flash(double pulse_hz);

/// Of whatever a small speaker is to play. Static.
const char* caution_hearing(void);

/// Of a prop. Static.
const char* caution_look_alike(void);

#endif
