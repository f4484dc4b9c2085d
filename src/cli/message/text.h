/// @file
/// Strings that grow, and strings made safe to show.
#ifndef VW_CLI_TEXT_H
#define VW_CLI_TEXT_H

#include <stdarg.h>
#include <stdbool.h>

#define TEXT_FORMAT(at, first) __attribute__((format(printf, at, first)))

/// The text that `printf` would print, to be freed; NULL without memory.
char* text_format(const char* format, ...) TEXT_FORMAT(1, 2);

/// The same from a list of arguments.
char* text_format_list(const char* format, va_list arguments) TEXT_FORMAT(1, 0);

/**
 * Make text safe to show: control characters, marks that turn the direction of
 * writing and bytes that are no UTF-8 become `\xHH`.
 *
 * @return To be freed; NULL without memory.
 */
char* text_safe(const char* text);

/// Quote a file name for a shell where that is needed, and make it safe to
/// show. To be freed; NULL without memory.
char* text_quoted(const char* name);

/// Whether a byte is a control character of ASCII.
bool text_is_control(char byte);

/// Whether a text holds one.
bool text_has_controls(const char* text);

#endif
