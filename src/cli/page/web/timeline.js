// What a board plays when its trigger is held. The library's
// src/board/timeline.c does the same; a test compares the two. All times are in
// frames of the file.

/** Whether a board takes the trigger for held at a frame. */
function heldAt(run, frame) {
  return run.presses.some((press) =>
    press.from + run.playing.notice <= frame && frame < press.to);
}

function play(run, file, from, to, at) {
  if (from < to) {
    run.plays.push({file, from, to, at});
  }
}

/** Play [from, to) of the main file, but nothing from `end` on. */
function playMain(run, from, to, at, end) {
  const n = Math.max(0, Math.min(to - from, end - at));
  play(run, "main", from, from + n, at);
  return at + (to - from);
}

/** A board that falls silent at once. */
function playUntil(run, start, end) {
  const {repeat, loopStart, loopEnd, nMain, gap} = run.playing;
  const marked = repeat === "loop-points";
  const to = marked ? loopEnd : nMain;
  let at = start;
  let from = 0;
  while (at < end && at < run.horizon) {
    at = playMain(run, from, to, at, end) + gap;
    from = marked ? loopStart : 0;
    if (repeat === "nothing") {
      return;
    }
  }
}

/** Boards that finish; each returns from when on it takes a new press. */
const playOut = {
  "whole-file"(run, start) {
    const {nMain, gap} = run.playing;
    let at = start;
    let freeAt = start;
    do {
      freeAt = playMain(run, 0, nMain, at, Infinity);
      at = freeAt + gap;
    } while (at < run.horizon && heldAt(run, at));
    return freeAt;
  },

  "nothing"(run, start) {
    return playMain(run, 0, run.playing.nMain, start, Infinity);
  },

  "loop-points"(run, start) {
    const {loopStart, loopEnd, nMain, gap} = run.playing;
    let at = start;
    let freeAt = start;
    do {
      at = playMain(run, 0, loopEnd, at, Infinity);
      while (at < run.horizon && heldAt(run, at)) {
        at = playMain(run, loopStart, loopEnd, at + gap, Infinity);
      }
      freeAt = playMain(run, loopEnd, nMain, at, Infinity);
      at = freeAt + gap;
    } while (at < run.horizon && heldAt(run, at));
    return freeAt;
  },

  "three-files"(run, start) {
    const {nRunIn, nMain, nRingOut, gap} = run.playing;
    play(run, "runIn", 0, nRunIn, start);
    let at = start + nRunIn + gap;
    while (at < run.horizon && heldAt(run, at)) {
      at = playMain(run, 0, nMain, at, Infinity) + gap;
    }
    play(run, "ringOut", 0, nRingOut, at);
    return at;
  },
};

/**
 * Follow a board through some presses.
 *
 * @param playing `repeat`, `release`, lengths, gap, delay and notice.
 * @param presses [{from, to}], one after the other; the last may be held for
 * ever: `to` is Infinity.
 * @param horizon Nothing that begins after this frame is asked for.
 * @return [{file, from, to, at}]: frames [from, to) of a file, heard from `at`.
 */
function followBoard(playing, presses, horizon = Infinity) {
  const run = {playing, presses, horizon, plays: []};
  const stops = playing.release === "stops" && playing.repeat !== "three-files";
  let freeAt = 0;
  for (const press of presses) {
    const noticed = press.from + playing.notice;
    if (noticed > press.to || noticed < freeAt || noticed > horizon) {
      continue;
    }
    if (stops) {
      playUntil(run, press.from + playing.delay, press.to);
    } else {
      freeAt = playOut[playing.repeat](run, press.from + playing.delay);
    }
  }
  return run.plays;
}

/** A sound's files and a board's behaviour, in frames of the files. */
function playingOf(sound, board) {
  const frames = (ms) => Math.floor(ms / 1000 * sound.rateHz + 0.5);
  const length = (file) => file ? file.nFrames : 0;
  const notice = frames(board.pressMinMs);
  return {
    repeat: sound.repeat,
    release: board.release,
    nMain: length(sound.files.main),
    nRunIn: length(sound.files.runIn),
    nRingOut: length(sound.files.ringOut),
    loopStart: sound.loopStart,
    loopEnd: sound.loopEnd,
    gap: frames(board.gapMs),
    delay: Math.max(frames(board.delayMs), notice),
    notice,
  };
}

/** Times held, released, held ... in seconds, as presses in frames. */
function pressesOf(heldS, rateHz) {
  const presses = [];
  let sumS = 0;
  let from = 0;
  heldS.forEach((seconds, i) => {
    sumS += seconds;
    const to = Math.floor(sumS * rateHz + 0.5);
    if (i % 2 === 0) {
      presses.push({from, to});
    }
    from = to;
  });
  return presses;
}

/**
 * When the lamp is on, in seconds: at every attack that is heard, for `onS` but
 * no longer than to the next.
 */
function flashesOf(plays, sound, onS) {
  const flashes = [];
  for (const {file, from, to, at} of plays) {
    for (const shot of sound.files[file].shots) {
      if (shot >= from && shot < to) {
        const on = (at + shot - from) / sound.rateHz;
        flashes.push({onS: on, offS: on + onS});
      }
    }
  }
  for (let i = 0; i + 1 < flashes.length; ++i) {
    flashes[i].offS = Math.min(flashes[i].offS, flashes[i + 1].onS);
  }
  return flashes;
}
