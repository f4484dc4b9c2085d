/// @file
/// What is meant by keys that a prop file does not have.
#ifndef VW_CLI_PROP_HINT_H
#define VW_CLI_PROP_HINT_H

/// What to write instead of a key that is none, or NULL. Static.
const char* prop_hint(const char* key);

#endif
