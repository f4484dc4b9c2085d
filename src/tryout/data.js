// What the program wrote into the page.

/** The page's data. */
function readData() {
  return JSON.parse(document.getElementById("data").textContent);
}

/** A trigger's sound, its files still base64, as Line plays it. */
function decodeSound(written) {
  const files = {};
  for (const [name, file] of Object.entries(written.files)) {
    files[name] = fileOf(decodePcm16(file.pcm16, written.channels), file.shots);
  }
  return {...written, files};
}

/** What a burst is laid anew from. */
function decodeRelay(written) {
  return {...written, alone: decodeFloat32(written.float32, written.channels)};
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

/** A sound of the page: what is written of it, and what is heard of it. */
function soundOf(written, index) {
  return {
    ...written,
    index,
    single: once(() => written.single && decodeSound(written.single)),
    rapid: once(() => written.rapid && decodeSound(written.rapid)),
    relay: once(() => written.relay && decodeRelay(written.relay)),
  };
}
