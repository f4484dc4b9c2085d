// What the program wrote into the page: a block of facts on all, and for each
// sound one of facts and one of frames, which is read when it is wanted.

/** A trigger's sound as Line plays it. */
function decodeSound(told, frames) {
  const files = {};
  for (const [name, file] of Object.entries(told.files)) {
    files[name] = fileOf(
      decodeCodes(frames[name], told.codes, told.channels), file.shots);
  }
  return {...told, files};
}

/** What a burst is laid anew from. */
function decodeRelay(told, frames) {
  return {...told, alone: decodeCodes(frames, "f32", told.channels)};
}

/** Do something once, when it is first needed. */
function once(make) {
  let made;
  let done = false;
  return () => {
    if (!done) {
      made = make();
      done = true;
    }
    return made;
  };
}

/**
 * A sound of the page.
 *
 * @return What is told of it, and as functions what is heard: `single`, `rapid`
 * and `relay`; null where there is none.
 */
function soundOf(told, block) {
  const decode = (key, make) => once(() => told.heard && told[key]
    ? make(told[key], JSON.parse(block.textContent))
    : null);
  return {
    ...told,
    told: {single: told.single, rapid: told.rapid},
    single: decode("single", (one, {single}) => decodeSound(one, single)),
    rapid: decode("rapid", (one, {rapid}) => decodeSound(one, rapid)),
    relay: decode("relay", (one, {alone}) => decodeRelay(one, alone)),
  };
}

/** Whether a sound goes on while its trigger is held. */
function repeats(sound) {
  return Boolean(sound.told.rapid) && sound.told.rapid.repeat !== "nothing";
}

/** Let sounds of the same takes share their triggers. */
function pairSounds(sounds) {
  const kin = new Map();
  // Those that repeat before finished bursts.
  const order = [...sounds].sort((a, b) => repeats(b) - repeats(a));
  for (const sound of order) {
    for (const key of ["single", "rapid"]) {
      const id = `${sound.board} ${sound.family} ${key}`;
      if (sound.told[key] && !kin.has(id)) {
        kin.set(id, sound);
      }
    }
  }
  for (const sound of sounds) {
    sound.owner = (key) => sound.told[key]
      ? sound
      : kin.get(`${sound.board} ${sound.family} ${key}`) ?? null;
  }
}

/** The page's data, with all sounds. */
function readData() {
  const data = JSON.parse(document.getElementById("data").textContent);
  const sounds = Array.from(
    document.querySelectorAll("script.sound"),
    (block) => soundOf(
      JSON.parse(block.textContent), block.nextElementSibling));
  pairSounds(sounds);
  return {...data, sounds};
}
