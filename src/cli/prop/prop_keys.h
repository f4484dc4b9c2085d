/// @file
/// One key of a prop file.
#ifndef VW_CLI_PROP_KEYS_H
#define VW_CLI_PROP_KEYS_H

#include "cli/prop/prop.h"
#include "cli/textfile/textfile.h"

/// A line `key = value`.
typedef struct {
  const char* key;
  const char* value;
  unsigned    line;
} PropLine;

/// Which section a key stands in, as bits.
enum { IN_PROP = 1U, IN_SOUND = 2U, IN_ON = 4U };

/// What the keys of a section go to.
typedef struct {
  Prop*      prop;
  PropSound* sound; ///< Of #IN_SOUND.
  PropKeys*  keys;
  unsigned   section; ///< One of the bits.
} PropPlace;

/// Put a key's value where it belongs, or say what is wrong with it.
void prop_keys_take(const PropPlace* place,
                    const PropLine*  line,
                    Faults*          faults);

/// Add an option. False without memory.
bool prop_keys_add(PropKeys*     keys,
                   const Option* option,
                   const char*   value,
                   unsigned      line);

/// Whether an option can hold for all sounds of a pack alone.
bool prop_keys_is_for_all(const Option* option);

/// Free what `keys` owns.
void prop_keys_clear(PropKeys* keys);

#endif
