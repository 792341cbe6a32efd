// Shows on every page which STOPs are open on the amplifier on the bench: a reading that stopped does so until it is read in
// range. `job::mirror` has written them down.

{
  const book = document.currentScript.src;
  const line = document.createElement("p");
  line.className = "stop-stands";
  line.setAttribute("role", "status");

  function stopped() {
    try {
      return JSON.parse(localStorage.getItem("standing-current job")?.split("\n")[0] ?? "null");
    } catch {
      return null;
    }
  }

  function set() {
    const { label, stops = [] } = stopped() ?? {};
    if (!stops.length) return line.remove();
    const { page, step, what, read } = stops[0];
    const word = document.createElement("strong");
    word.textContent = "STOP";
    const way = document.createElement("a");
    way.href = new URL(`${page}#go-on`, book);
    way.textContent = `Go on at ${step.replace("-", " ")}`;
    const more = stops.length > 1 ? ` And ${stops.length - 1} more.` : "";
    line.replaceChildren(word, ` ${what}: ${read}, out of range. Amplifier: “${label}”.${more} `, way);
    if (!line.isConnected) document.querySelector("main").before(line);
  }

  for (const kind of ["storage", "standing-current job"]) addEventListener(kind, set);
  set();
}
