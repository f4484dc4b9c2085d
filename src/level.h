#ifndef VW_LEVEL_H
#define VW_LEVEL_H

/**
 * The one gain of a family: it brings its highest value to -1 dBFS.
 *
 * @param peak The highest absolute value of all its sounds, above 0.
 * @return dB.
 */
double vw_level_gain_db(double peak);

#endif
