/// @file
/// The page's fixed text, embedded by the build from src/tryout/.
#ifndef VW_CLI_TRYOUT_PARTS_H
#define VW_CLI_TRYOUT_PARTS_H

/// What stands before the data, ended by a zero.
extern const char tryout_before[];

/// What stands after them, ended by a zero.
extern const char tryout_after[];

#endif
