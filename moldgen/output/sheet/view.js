// The 3D view: turns with mouse, finger and arrow keys; bodies come apart, hide, and are cut open.
(function () {
  "use strict";
  const box = document.getElementById("view");
  const canvas = box.querySelector("canvas");
  const gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
  if (!gl) {
    box.classList.add("unable");
    return;
  }
  const bodies = JSON.parse(document.getElementById("bodies").textContent);
  const CREASE = Math.cos((32 * Math.PI) / 180);

  const unpack = (text, Kind) => new Kind(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);

  // Corners with a normal each: smooth within a round face, sharp where faces meet at an edge; the edges as lines.
  function surface(body) {
    const steps = unpack(body.points, Uint16Array);
    const corners = unpack(body.triangles, body.wide ? Uint32Array : Uint16Array);
    const at = new Float32Array(steps.length);
    for (let i = 0; i < steps.length; i++) at[i] = body.low[i % 3] + (body.size[i % 3] * steps[i]) / 65535;
    const count = corners.length / 3;
    const cross = new Float32Array(3 * count);
    const unit = new Float32Array(3 * count);
    const faces = Array.from({ length: at.length / 3 }, () => []);
    for (let t = 0; t < count; t++) {
      const [a, b, c] = [0, 1, 2].map((k) => 3 * corners[3 * t + k]);
      const u = [0, 1, 2].map((k) => at[b + k] - at[a + k]);
      const v = [0, 1, 2].map((k) => at[c + k] - at[a + k]);
      const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      const length = Math.hypot(...n) || 1;
      for (let k = 0; k < 3; k++) {
        cross[3 * t + k] = n[k];
        unit[3 * t + k] = n[k] / length;
        faces[corners[3 * t + k]].push(t);
      }
    }
    const total = at.length / 3;
    const beside = new Map(); // the triangle that has the edge p -> q
    for (let i = 0; i < corners.length; i++) beside.set(corners[i] * total + corners[i - (i % 3) + ((i + 1) % 3)], (i - (i % 3)) / 3);
    const apart = (p, q) => Math.hypot(at[3 * p] - at[3 * q], at[3 * p + 1] - at[3 * q + 1], at[3 * p + 2] - at[3 * q + 2]);
    // A sliver's own normal is chance: it takes that of its neighbour along its longest side.
    for (let t = 0; t < count; t++) {
      const sides = [0, 1, 2].map((k) => [corners[3 * t + k], corners[3 * t + ((k + 1) % 3)]]);
      const [p, q] = sides.reduce((longest, side) => (apart(...side) > apart(...longest) ? side : longest));
      const next = beside.get(q * total + p);
      if (next !== undefined && Math.hypot(...cross.subarray(3 * t, 3 * t + 3)) < 0.05 * apart(p, q))
        unit.set(unit.subarray(3 * next, 3 * next + 3), 3 * t);
    }
    const alike = (s, t) =>
      unit[3 * s] * unit[3 * t] + unit[3 * s + 1] * unit[3 * t + 1] + unit[3 * s + 2] * unit[3 * t + 2] > CREASE;
    const mesh = new Float32Array(18 * count);
    const lines = [];
    for (let t = 0; t < count; t++) {
      for (let k = 0; k < 3; k++) {
        const p = corners[3 * t + k];
        const q = corners[3 * t + ((k + 1) % 3)];
        const n = [0, 0, 0];
        for (const s of faces[p]) if (alike(s, t)) for (let i = 0; i < 3; i++) n[i] += cross[3 * s + i];
        mesh.set(at.subarray(3 * p, 3 * p + 3), 6 * (3 * t + k));
        const length = Math.hypot(...n) || 1;
        mesh.set(n.map((x) => x / length), 6 * (3 * t + k) + 3);
        const other = beside.get(q * total + p);
        if (p < q && other !== undefined && !alike(other, t))
          for (const e of [p, q]) lines.push(at[3 * e], at[3 * e + 1], at[3 * e + 2], 0, 0, 0);
      }
    }
    const [solid, edges] = [buffer(mesh), buffer(new Float32Array(lines))];
    return { low: body.low, size: body.size, mesh: solid, corners: 3 * count, lines: edges, ends: lines.length / 6 };
  }

  function buffer(data) {
    const made = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, made);
    gl.bufferData(gl.ARRAY_BUFFER, data, gl.STATIC_DRAW);
    return made;
  }

  const VERTEX = `#version 300 es
    in vec3 at; in vec3 normal;
    uniform mat4 turn; uniform vec3 frame, middle; uniform float lift, nearer;
    centroid out vec3 n;
    void main() {
      n = mat3(turn) * normal;
      vec3 p = (turn * vec4(at + vec3(0, 0, lift) - middle, 1)).xyz * frame.x;
      gl_Position = vec4(p.x * frame.y / frame.z, p.y * frame.y, -0.25 * p.z - nearer, 1.0 - 0.22 * p.z);
    }`;
  const FRAGMENT = `#version 300 es
    precision highp float;
    centroid in vec3 n;
    out vec4 paint;
    uniform vec3 colour; uniform float line;
    void main() {
      if (line > 0.5) { paint = vec4(0.25, 0.25, 0.25, 1); return; }
      vec3 m = normalize(n);
      float light = 0.34 + 0.5 * max(dot(m, normalize(vec3(0.3, 0.7, 0.7))), 0.0)
                  + 0.28 * max(dot(m, normalize(vec3(-0.8, 0.1, 0.5))), 0.0);
      paint = vec4(min(colour * light * 1.12 + 0.02, 1.0), 1);
    }`;
  const program = gl.createProgram();
  for (const [kind, source] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.bindAttribLocation(program, 0, "at");
  gl.bindAttribLocation(program, 1, "normal");
  gl.linkProgram(program);
  gl.useProgram(program);
  const put = {};
  for (const name of ["turn", "frame", "lift", "nearer", "middle", "colour", "line"])
    put[name] = gl.getUniformLocation(program, name);
  gl.enable(gl.DEPTH_TEST);
  gl.enableVertexAttribArray(0);
  gl.enableVertexAttribArray(1);

  const shown = bodies.map((body) => ({ ...body, on: true, whole: surface(body.whole), half: surface(body.half) }));
  const slider = box.querySelector("input[type=range]");
  const cut = document.getElementById("cut");
  let [around, over, zoom] = [-0.5, 0.4, 1];

  function turning() {
    const [s, c, t, d] = [Math.sin(around), Math.cos(around), Math.sin(over), Math.cos(over)];
    return new Float32Array([c, s * t, -s * d, 0, -s, c * t, -c * d, 0, 0, d, t, 0, 0, 0, 0, 1]);
  }

  function draw() {
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    const [wide, high] = [Math.round(canvas.clientWidth * ratio), Math.round(canvas.clientHeight * ratio)];
    if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
    gl.viewport(0, 0, wide, high);
    gl.clearColor(0.985, 0.98, 0.965, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const open = Number(slider.value) / 100;
    const seen = shown.filter((body) => body.on);
    const [low, high3] = [[1e9, 1e9, 1e9], [-1e9, -1e9, -1e9]];
    for (const body of seen) {
      for (let k = 0; k < 3; k++) {
        const up = k === 2 ? body.lift * open : 0;
        low[k] = Math.min(low[k], body.whole.low[k] + up);
        high3[k] = Math.max(high3[k], body.whole.low[k] + body.whole.size[k] + up);
      }
    }
    const middle = low.map((x, k) => 0.5 * (x + high3[k]));
    const reach = 0.5 * Math.hypot(...low.map((x, k) => high3[k] - x)) || 1;
    const aspect = wide / high;
    gl.uniformMatrix4fv(put.turn, false, turning());
    gl.uniform3f(put.frame, 1 / reach, 0.93 * zoom * Math.min(aspect, 1), aspect);
    gl.uniform3fv(put.middle, middle);
    for (const body of seen) {
      const now = cut.checked ? body.half : body.whole;
      gl.uniform1f(put.lift, body.lift * open);
      gl.uniform3fv(put.colour, body.colour);
      for (const [what, kind, of, line] of [
        [now.mesh, gl.TRIANGLES, now.corners, 0],
        [now.lines, gl.LINES, now.ends, 1],
      ]) {
        gl.bindBuffer(gl.ARRAY_BUFFER, what);
        gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 24, 0);
        gl.vertexAttribPointer(1, 3, gl.FLOAT, false, 24, 12);
        gl.uniform1f(put.line, line);
        gl.uniform1f(put.nearer, line ? 0.0015 : 0);
        gl.drawArrays(kind, 0, of);
      }
    }
  }

  let waiting = false;
  function again() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      draw();
    });
  }

  const fingers = new Map();
  const spread = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  const nearer = (factor) => (zoom = Math.min(6, Math.max(0.5, zoom * factor)));
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
  });
  canvas.addEventListener("pointermove", (e) => {
    const finger = fingers.get(e.pointerId);
    if (!finger) return;
    const before = fingers.size === 2 ? spread() : 0;
    const [dx, dy] = [e.clientX - finger.x, e.clientY - finger.y];
    Object.assign(finger, { x: e.clientX, y: e.clientY });
    if (fingers.size === 2) nearer(spread() / (before || 1));
    else turned(dx * 0.008, dy * 0.008);
    again();
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (e) => fingers.delete(e.pointerId));
  canvas.addEventListener("wheel", (e) => {
    if (!e.ctrlKey && document.activeElement !== canvas) return; // a page that is scrolled past must not zoom
    e.preventDefault();
    nearer(Math.exp(-0.001 * e.deltaY));
    again();
  }, { passive: false });
  function turned(dx, dy) {
    around += dx;
    over = Math.min(1.57, Math.max(-1.57, over + dy));
  }
  canvas.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[e.key];
    if (step) turned(...step);
    else if (e.key === "+" || e.key === "-") nearer(e.key === "+" ? 1.15 : 1 / 1.15);
    else return;
    e.preventDefault();
    again();
  });
  for (const choice of box.querySelectorAll("[data-body]")) {
    choice.addEventListener("change", () => {
      shown[Number(choice.dataset.body)].on = choice.checked;
      again();
    });
    shown[Number(choice.dataset.body)].on = choice.checked;
  }
  slider.addEventListener("input", again);
  cut.addEventListener("change", again);
  new ResizeObserver(again).observe(canvas);
  draw();
})();
