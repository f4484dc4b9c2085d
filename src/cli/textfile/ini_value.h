/// @file
/// Values in double quotes.
#ifndef VW_CLI_INI_VALUE_H
#define VW_CLI_INI_VALUE_H

/**
 * Read a value in double quotes.
 *
 * @param text What begins with the opening quote.
 * @param value Filled in on success; to be freed.
 * @return NULL, or what is wrong. Static.
 */
const char* ini_value_read(const char* text, char** value);

#endif
