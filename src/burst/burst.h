#ifndef VW_BURST_H
#define VW_BURST_H

#include "signal/limiter.h"
#include "take/take.h"

#include "volleyweave/volleyweave.h"

/// The defaults of #VwFormat.
VwFormat vw_format_defaults(void);

/// The defaults of #VwLevelOptions.
VwLevelOptions vw_level_defaults(void);

/// Whether all options lie in the ranges that the public header states, and
/// the shots can be shared out evenly among `n_takes` takes.
bool vw_options_are_sound(const VwFamilyOptions* options, size_t n_takes);

/// What a family did to one of its takes.
struct VwTakeUse {
  VwDownmix downmix;    ///< How its channels became the board's.
  double late_start_ms; ///< What the burst leaves out before the shot's crest.
  size_t crest_frame; ///< The crest in the shot as cut, at the board's rate; of
                      ///< a burst, where the shot is laid down about it.
  size_t near_crest_frame; ///< Where it is first within 3 dB of the crest.
  bool   start_faded;      ///< Of a whole take: its start was not near zero.
  bool   end_faded;        ///< The same of its end.
  double starts_s; ///< Where in the take what is joined starts, 2 ms of zeros
                   ///< before it included.
};

/// A fire rate may be off by so much and count as met.
#define VW_ERROR_MOST_PPM 1000.0

/// How shots are to be found. A coarser board hides more of the tail; a finer
/// one is no reason for a longer.
VwFindOptions vw_find_wish(const VwFamilyOptions* options);

/// What a single sound is made for.
typedef struct {
  VwFormat  format;  ///< The board's.
  VwSpeaker speaker; ///< It is made for it.
  bool      whole;   ///< The take as it is, not cut to the shot.
  bool      joins;   ///< All from where it begins to where it ends.
  double    fade_ms; ///< Of a whole take: over so long its ends are faded,
                     ///< unless they are near zero.
} VwAloneWish;

/// The sample rate at which shots are made: as asked, or, with 0, 44.1 kHz or
/// the highest of the takes' if that is lower.
unsigned vw_alone_rate(const VwTake* takes, size_t n_takes, unsigned asked_hz);

/**
 * Make the single shot of a take in the board's format: cut, channels, sample
 * rate, closed ends, even bytes.
 *
 * @param wish Its format has the sample rate filled in.
 * @param alone Filled in on success; free it with vw_sound_clear().
 * @param use Its down-mix and crest are set on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_alone_make(const VwTake*      take,
                       const VwShotFacts* facts,
                       const VwAloneWish* wish,
                       VwSound*           alone,
                       VwTakeUse*         use);

/// What a cycle must be.
typedef struct {
  double   fire_rate_per_s; ///< Asked.
  unsigned rate_hz;         ///< The board's sample rate.
  double   cycle_max_s;     ///< Longest cycle in a file.
  size_t   frames_most;     ///< No file holds more.
  size_t   gap_frames;      ///< The board's pause behind the file.
  size_t   frames_unit;     ///< The file is a multiple of this, always.
  unsigned shots;           ///< Exactly so many; 0: as needed.
  unsigned shots_least;     ///< As many as this where the cycle holds them.
  unsigned shots_most;      ///< No more than this, but `shots_least`.
  unsigned shots_unit;      ///< A multiple of this, always.
  unsigned variants;        ///< Of each take; the cycle holds so many times its
                            ///< unit if it can, else fewer. 0 or 1: none.
} VwPlanWish;

/**
 * Lay out a cycle: the smallest number of shots with which a whole number of
 * frames meets the fire rate within 0.1 %, else the number with the least
 * error, ties to the smaller.
 *
 * The gap is part of the cycle, or, where it exceeds 0.4 of the period, comes
 * on top of it.
 *
 * @param plan Filled in on success, but for `chosen`.
 * @return #VW_OK, #VW_CYCLE_TOO_LONG, #VW_FILE_TOO_BIG.
 */
VwStatus vw_plan_make(const VwPlanWish* wish, VwPlan* plan);

/// Frames of the cycle that lie in a file: all but the gap.
size_t vw_plan_file_frames(const VwPlan* plan);

/// From one shot to the next, where no heard gap lies between them.
double vw_plan_period_s(const VwPlan* plan);

/**
 * Where shot `index` of the burst starts, in frames from the trigger.
 *
 * Shot i lies at `round(i * n_frames / shots)`, in every cycle alike; where the
 * gap is heard (`uneven`), at `round(i * (n_frames - gap_frames) / shots)`.
 */
size_t vw_plan_start(const VwPlan* plan, size_t index);

/**
 * How the shots of one take would lie in the cycle, without the take.
 *
 * @param options Its fire rate and sample rate have to be given.
 * @param plan Filled in on success.
 * @return #VW_OK, #VW_BAD_OPTION, #VW_CYCLE_TOO_LONG, #VW_FILE_TOO_BIG.
 */
VwStatus vw_plan_find(const VwFamilyOptions* options, VwPlan* plan);

/**
 * What the cycle must be for these takes, this board and these options.
 *
 * @param facts What was found in each of the `n_takes` takes.
 * @param rate_hz The board's sample rate.
 */
VwPlanWish vw_wish_make(const VwFamilyOptions* options,
                        const VwShotFacts*     facts,
                        size_t                 n_takes,
                        unsigned               rate_hz);

/// What a part of a family holds, as far as it is known, which the list beside
/// it then says.
VwMade vw_made_of(const VwFamily* family, VwPart part, unsigned burst_shots);

/// Whether no two shots running are alike.
bool vw_wish_is_varied(const VwFamilyOptions* options, size_t n_takes);

/// How many variants of each take a cycle of so many shots holds.
unsigned vw_wish_variants(const VwFamilyOptions* options,
                          unsigned               n_shots,
                          size_t                 n_takes);

/**
 * Make the shots of one cycle from the single shots: started late, taking
 * turns, varied; not yet tightened.
 *
 * @param alone The single shots, one per take, without a kick.
 * @param options Valley, variation and seed.
 * @param family Its plan and crests are read; its late starts are set, and its
 * shots and turns, for which there is room, are filled in.
 * @param bend_from Set, for each shot, to the frame from which its decay may be
 * bent.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_cycle_make(const VwSound*         alone,
                       const VwFamilyOptions* options,
                       VwFamily*              family,
                       size_t*                bend_from);

/// A low tone that is laid under a shot.
typedef struct {
  double db;      ///< As asked.
  double hz;      ///< The transducer's resonance, or 120.
  double decay_s; ///< It decays by 60 dB in the period, or 120 ms if that is
                  ///< longer, or there is none.
  bool is_laid;   ///< It was asked for, and no speaker's corner is above it.
} VwKickTone;

/// The kick of the shots that these options make, laid down once a period; 0:
/// alone.
VwKickTone vw_kick_tone(const VwFamilyOptions* options, double period_s);

/**
 * Lay a kick under a shot: half a cosine of 3 ms, then a decay by 60 dB.
 *
 * It raises what the shot has at its frequency, in a Hann window of 20 ms from
 * the attack on, by as much as was asked, but that counts as no less than 12 dB
 * below all that the shot has in there.
 *
 * @param from The frame of its attack.
 * @param frames_unit A shot that has to be lengthened has a multiple of it.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_kick_lay(const VwKickTone* tone,
                     size_t            from,
                     size_t            frames_unit,
                     VwSound*          shot);

/**
 * Measure what a kick adds.
 *
 * @param kick Filled in on success; all zero of silence.
 * @return #VW_OK, #VW_NO_MEMORY.
 */
VwStatus vw_kick_measure(const VwKickTone* tone,
                         const VwSound*    plain,
                         const VwSound*    kicked,
                         VwKick*           kick);

/// The ends of a cycle that is a file of its own are faded for so long,
/// seconds: all the quiet before an attack, and nothing of the attack itself.
#define VW_CYCLE_FADE_S VW_PRE_ROLL_S

/// An attack is to be so much louder than what is faded before it (chosen here:
/// twice the power).
#define VW_COVER_LEAST_DB 3.0

/// The shots of one cycle and how they are laid down.
typedef struct {
  const VwSound* shots; ///< `plan->shots` of them.
  const VwPlan*  plan;
  VwTail         tail;
  double         ceiling; ///< Highest value of the burst; HUGE_VAL: no limiter.
  double limiting_most_db; ///< Of a cycle whose gain is yet to be found:
                           ///< no lower a ceiling than needs this much.
  bool natural;            ///< Tails are bent more in the highs.
  bool closed;             ///< The cycle is a file of its own, its ends faded.
} VwVolley;

/// Length of the longest shot, frames.
size_t vw_volley_longest(const VwVolley* volley);

/**
 * Lay down `n_shots` shots, the first at frame 0.
 *
 * A choked tail is faded from the start of the next shot on: nothing of a shot
 * depends on a next one that may never come, and the last rings out whole.
 *
 * @param n_shots 1 or more.
 * @param burst Filled in on success; free it with vw_sound_clear(). It ends
 * with its last tail.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_burst_lay(const VwVolley* volley, size_t n_shots, VwSound* burst);

/**
 * How far the last decay of a cycle has come down where the board's gap cuts it
 * off.
 *
 * @param volley How the shots are laid down about the gap.
 * @param depth_db Filled in on success: dB below the shot's crest, 60 at most.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_gap_depth(const VwVolley* volley, double* depth_db);

/**
 * How far the attack of a cycle whose ends are faded is above what is faded
 * before it, as the cycle is repeated.
 *
 * Levels are those of a valley's: the tails' just before the fade, the
 * attack's greatest in the 20 ms after the seam.
 *
 * @param cover_db Filled in on success: from -60 to 60.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_burst_fade_cover(const VwSound* cycle, double* cover_db);

/// Where in a steady cycle the shallowest valley lies.
typedef struct {
  double   depth_db;    ///< As in #VwFamily; 60 at most.
  unsigned shot;        ///< Before which next one, from 0 on.
  size_t   crest_frame; ///< Where this shot's level is highest.
  size_t   quiet_frame; ///< Where it is lowest before the next.
  double   crest_dbfs;  ///< The level there, behind the high-pass at 100 Hz;
                        ///< NaN of silence.
  double quiet_dbfs;    ///< `depth_db` below: the mean of the lowest fifth.
} VwValley;

/**
 * Find the shallowest valley of a loop, repeated without end.
 *
 * @param loop One whole cycle of a plan, its gap left out.
 * @param valley Filled in on success.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_BAD_OPTION (the plan is another's).
 */
VwStatus vw_valley_of_loop(const VwSound* loop,
                           const VwPlan*  plan,
                           VwValley*      valley);

/// A burst which repeats itself.
typedef struct {
  const VwSound* burst;
  size_t         steady; ///< The cycle's start from which on it does; two more
                         ///< cycles follow.
} VwSteady;

/**
 * Find the shallowest valley of a burst's steady cycle, its ends faded and the
 * gap silent where the volley is closed.
 *
 * @param valley Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_of_steady(const VwVolley* volley,
                             const VwSteady* of,
                             VwValley*       valley);

/**
 * Find the valley of a family's loop again as it is read back from its file,
 * where the noise of writing comes near to the quiet.
 *
 * @param seed Of the dither.
 * @param valley That of the loop at its level; changed on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_valley_written(const VwFamily* family,
                           uint64_t        seed,
                           VwValley*       valley);

/**
 * Make neighbours of a varied cycle alike in the level of their first 50 ms and
 * in the loudness of their periods, as heard over all older tails: within 1 dB,
 * or twice the spread asked for, if a few rounds reach that.
 *
 * @param volley Whose shots are `shots`.
 * @param spread_db By which shots may be louder or softer, as asked; 0: as is
 * usual.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_variants_even(const VwVolley* volley,
                          double          spread_db,
                          VwSound*        shots);

/// What was reached by tightening.
typedef struct {
  double valley_db;      ///< Of the steady cycle.
  double slope_db_per_s; ///< How fast the decays are bent down; 0: not at all.
  bool   steepest;       ///< No steeper bend deepens the valley.
} VwTightness;

/**
 * Bend the shots' decays down, no more than a valley needs.
 *
 * The valley is that of the steady cycle as the volley's ceiling leaves it.
 * Every shot is left as it is to just past its crest; from there its level
 * falls the faster by a number of decibels per second, the same for all. What
 * has fallen by 140 dB is cut off.
 *
 * @param volley How the shots are laid down.
 * @param shots The same shots, `plan->shots` of them; bent in place.
 * @param bend_from The frame of each from which it may be bent.
 * @param valley_db To reach; NaN: it is measured and no shot is bent.
 * @param tightness Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_tighten(const VwVolley* volley,
                    VwSound*        shots,
                    const size_t*   bend_from,
                    double          valley_db,
                    VwTightness*    tightness);

/**
 * How alike neighbours of a steady cycle are; see #VwLikeness.
 *
 * @param likeness Filled in on success.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_likeness_of_cycle(const VwSound* cycle,
                              const VwPlan*  plan,
                              VwLikeness*    likeness);

/// Loudness looks back for 0.4 s; so long a steady burst shows all of it.
#define VW_STEADY_HEARD_S 0.8

/// A finished burst that is longer fills no board, seconds.
#define VW_BURST_MOST_S 600.0

/// What a family's level is found on: sounds before any gain.
typedef struct {
  const VwSound* alone; ///< The single shots.
  size_t         n_alone;
  const VwSound* burst;    ///< The burst with its first steady cycles, or NULL.
  size_t         steady;   ///< The burst's frame from which it is steady.
  size_t         n_steady; ///< For so many frames, whole cycles.
  size_t         n_closed; ///< Length of a cycle whose ends are faded, or 0.
  size_t         n_gap;    ///< Silence at the end of such a cycle.
} VwLevelSounds;

/**
 * The highest value that limited sound may have, full scale 1: the ceiling, and
 * below it room for what rounding adds at 8 bits.
 */
double vw_level_ceiling(const VwLevelOptions* options, VwEncoding encoding);

/// The most that the limiter may take, dB. Of tones that go on it takes nothing
/// unless it is asked to: what it makes of two that beat lies only 41 dB down.
double vw_level_limiting_most(const VwLevelOptions* options, bool tones);

/// What is wished of a family's level, whatever its burst then needs.
typedef struct {
  double ceiling;         ///< What vw_level_ceiling() says; set before.
  double limiting_max_db; ///< What vw_level_limiting_most() says; set before.
  double peak;            ///< True peak of the single shots.
  double before_lufs;     ///< Loudness of what is brought to its level.
  double gain_db;         ///< HUGE_VAL: as much as there can be.
} VwLevelWish;

/**
 * Find the gain that is wished.
 *
 * The gain is found on the limited sound by the secant method, to 0.05 LU. No
 * gain is found for a sound without a loudness.
 *
 * @param sounds The burst is needed only if it is what is brought to a
 * loudness.
 * @param wish Filled in on success, but for what is set before.
 * @return #VW_OK, #VW_NO_MEMORY, #VW_SILENT.
 */
VwStatus vw_level_wish(const VwLevelSounds*  sounds,
                       const VwLevelOptions* options,
                       VwLevelWish*          wish);

/**
 * Settle the one gain of a family: as wished, or as far as limiting goes.
 *
 * @param sounds As they are now; the shots are those of the wish.
 * @param level Its loudness before, target, gain, limiting needed and whether
 * the wish was reached are set.
 */
void vw_level_settle(const VwLevelSounds*  sounds,
                     const VwLevelOptions* options,
                     const VwLevelWish*    wish,
                     VwLevel*              level);

// Steps of a curve: half a decibel each over the most limiting there is.
#define VW_LEVEL_STEPS 24

/// How the loudness that is aimed at goes with gain, from the highest gain
/// without limiting to the highest there is. Below the first, both go alike.
typedef struct {
  double ceiling; ///< What vw_level_ceiling() says; set before measuring.
  size_t n;       ///< How many points.
  double gain_db[VW_LEVEL_STEPS + 1];
  double lufs[VW_LEVEL_STEPS + 1];
} VwLevelCurve;

/**
 * Lay out the points of a curve, and set the first.
 *
 * @param first The level of the loudest, found on the sounds as they are where
 * nothing is limited.
 * @param most_db The highest gain.
 */
void vw_level_curve_begin(const VwLevel* first,
                          double         most_db,
                          VwLevelCurve*  curve);

/**
 * Measure a point of a curve after those before it, but for the first.
 *
 * @param sounds As they are for its gain.
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_level_curve_measure(const VwLevelSounds*  sounds,
                                const VwLevelOptions* options,
                                VwLevelCurve*         curve,
                                size_t                point);

/// How loud it is at a gain, by its curve.
double vw_level_curve_lufs(const VwLevelCurve* curve, double gain_db);

/// The gain at which it is so loud, by its curve; above what it reaches as if
/// nothing more were limited.
double vw_level_curve_gain(const VwLevelCurve* curve, double lufs);

/// How loud a burst is at its level, once it is steady.
VwStatus vw_level_of_steady(const VwLevelSounds* sounds,
                            const VwSound*       burst,
                            double*              lufs);

/// Note what the limiter took of one more sound.
void vw_level_note(VwLevel* level, const VwLimited* limited);

/// Where a burst is cut, and how well one cycle joins the next.
typedef struct {
  unsigned run_in_shots;   ///< Shots in the run-in, at least 1.
  unsigned steady_shots;   ///< Shots before the first steady cycle: as many, or
                           ///< whole cycles more where the run-in ends early.
  double run_in_left_db;   ///< What is then missing of the tails, dB below the
                           ///< loop, or NaN.
  double join_residual_db; ///< -200 where both are equal.
} VwCutPoint;

/**
 * Find the first shot's start from which every later cycle is the same.
 *
 * Same means to 4e-7 of full scale, which a few missing tails cannot sum up to
 * 1e-6; or, of 8 and 16 bits below 22.05 kHz, to 1e-5, a third of the step
 * of 16 bits. The start lies on an even byte and a multiple of the board's
 * buffer. With a limit to the run-in it may end at such a start once the
 * missing tails are 20 dB down, and has to by then, but not before the first.
 *
 * @param volley The shots at their final level.
 * @param options Encoding, channels, buffer, and the run-in's limit.
 * @param of The burst made of them, held under the ceiling.
 */
VwCutPoint vw_cut_find(const VwVolley*        volley,
                       const VwFamilyOptions* options,
                       const VwSteady*        of);

/// The pieces of a form, and what holding them under the ceiling took.
typedef struct {
  VwPiece   pieces[3];
  size_t    n_pieces;
  VwLimited limited;
  double    peak;        ///< Their true peak, full scale 1.
  double    residual_db; ///< Of what was joined: as `join_residual_db`.
  size_t    run_in;      ///< Of the same: frames before the loop.
} VwCut;

/**
 * Cut the pieces of a form from the burst.
 *
 * @param options The form and, for #VW_FORM_BURST, how many shots.
 * @param cut Filled in on success; free its sounds with vw_sound_clear().
 * @return #VW_OK or #VW_NO_MEMORY.
 */
VwStatus vw_cut_pieces(const VwVolley*        volley,
                       const VwCutPoint*      point,
                       const VwFamilyOptions* options,
                       VwCut*                 cut);

#endif
