// Looks closer at the plots of a recording: zoom, move, read a point. The plots on the page stay as they are without it.
(() => {
  "use strict";
  const found = document.querySelector("[data-figures]");
  if (!found) return;

  // For each plot on the page: which figures it shows, and how its axes run.
  const PLOTS = {
    speed: {
      points: (all) => all.curve.map((p) => ({ x: p.at_seconds, y: p.deviation_percent, low: p.low_percent, high: p.high_percent })),
      x: "s", y: "%", read: (p) => `${p.x.toFixed(2)} s: ${p.y.toFixed(3)} % (from ${p.low.toFixed(3)} to ${p.high.toFixed(3)} %)`,
    },
    spectrum: {
      points: (all) => all.spectrum.filter((p) => p.hz > 0 && p.peak_percent > 0).map((p) => ({ x: p.hz, y: p.peak_percent })),
      names: (all) => all.lines.map((l) => ({ x: l.hz, y: l.depth_peak_percent, name: nameOf(l) })),
      x: "Hz", y: "% peak", log: true, read: (p) => `${p.x.toFixed(3)} Hz: ${p.y.toFixed(4)} % peak${p.name ? `, ${p.name}` : ""}`,
    },
    trend: {
      points: (all) => all.points.map((p) => ({ x: p.on_clock, y: p.on_basis, low: p.on_basis - p.uncertainty, high: p.on_basis + p.uncertainty, at: p.at, counts: p.in_fit })),
      band: (all) => all.line.map((p) => ({ x: p.on_clock, y: p.middle, low: p.low, high: p.high })),
      limits: (all) => ["good", "act", "stop"].flatMap((name) => [all.limits[name]?.low, all.limits[name]?.high].filter((y) => y !== null && y !== undefined).map((y) => ({ y, name }))),
      dots: true, last: true, x: (all) => ({ lamp: "lamp hours", motor: "motor hours", strikes: "strikes" }[all.clock] || "hours run"), y: (all) => all.unit_on_basis,
      read: (p, all) => `${p.at.slice(0, 10)}, at ${p.x.toFixed(1)}: ${p.y.toFixed(3)} ± ${(p.high - p.y).toFixed(3)} ${all.unit_on_basis}`,
    },
    response: {
      points: (all) => all.tones.map((t) => ({ x: t.hz, y: t.level_db, off: t.off_db })),
      band: (all) => (all.characteristic?.levels || []).map((l) => ({ x: l.hz, low: l.level_db - all.characteristic.tolerance_db, high: l.level_db + all.characteristic.tolerance_db })),
      dots: true, joined: true, x: "Hz", y: "dB", logX: true,
      read: (p) => `${p.x.toFixed(0)} Hz: ${p.y.toFixed(1)} dB${p.off === null ? "" : `, ${p.off > 0 ? "+" : ""}${p.off.toFixed(1)} dB off`}`,
    },
  };

  const nameOf = (line) => {
    if (!line.parts.length) return "no known part";
    return line.ambiguous ? line.parts.slice(0, 3).map((p) => p.name).join(" or ") : line.parts[0].name;
  };

  let figures = null;
  const load = async () => {
    if (!figures) {
      const answer = await fetch(found.dataset.figures, { headers: { Accept: "application/json" } });
      if (!answer.ok) throw new Error(String(answer.status));
      figures = await answer.json();
    }
    return figures;
  };

  const SVG = "http://www.w3.org/2000/svg";
  const draw = (name, attributes, parent, words) => {
    const element = document.createElementNS(SVG, name);
    Object.entries(attributes).forEach(([key, value]) => element.setAttribute(key, value));
    if (words !== undefined) element.textContent = words;
    parent.append(element);
    return element;
  };

  const button = (words, act) => {
    const one = document.createElement("button");
    one.type = "button";
    one.textContent = words;
    one.addEventListener("click", act);
    return one;
  };

  // Round steps of 1, 2 or 5 times a ten.
  const ticks = (low, high, wanted) => {
    const rough = (high - low) / wanted;
    const ten = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((n) => n * ten).find((one) => one >= rough * 0.999);
    const all = [];
    for (let n = Math.ceil(low / step); n * step <= high; n += 1) all.push(n * step);
    return all;
  };
  const decades = (low, high) => {
    const steps = high / low > 300 ? [1] : high / low > 6 ? [1, 2, 5] : null;
    if (!steps) return ticks(low, high, 5);
    const all = [];
    for (let ten = Math.floor(Math.log10(low)); ten <= Math.log10(high); ten += 1) {
      steps.forEach((n) => { const at = n * 10 ** ten; if (at >= low && at <= high) all.push(at); });
    }
    return all;
  };
  const short = (value) => Number(value.toPrecision(4)).toString();

  class Closer {
    constructor(figure, name, all) {
      const plot = PLOTS[name];
      this.name = name;
      this.plot = plot;
      this.all = all;
      this.points = plot.points(all);
      this.names = plot.names ? plot.names(all) : [];
      this.band = plot.band ? plot.band(all) : [];
      this.limits = plot.limits ? plot.limits(all) : [];
      this.logX = plot.log || plot.logX;
      this.logY = plot.log;
      const xs = [...this.points, ...this.band].map((p) => this.toX(p.x));
      this.whole = [xs.reduce((a, b) => Math.min(a, b)), xs.reduce((a, b) => Math.max(a, b))];
      if (this.whole[0] === this.whole[1]) this.whole = [this.whole[0] - 1, this.whole[1] + 1];
      this.view = [...this.whole];
      this.at = 0;
      this.panel = document.createElement("div");
      this.panel.className = "closer";
      this.svg = draw("svg", { class: "plot", role: "img", tabindex: "0", "aria-label": "The plot, closer: arrow keys read point after point, plus and minus zoom" }, this.panel);
      this.said = document.createElement("p");
      this.said.className = "reading";
      this.said.setAttribute("role", "status");
      const row = document.createElement("p");
      row.className = "row";
      row.append(button("Closer", () => this.zoom(0.5)), button("Wider", () => this.zoom(2)),
        button("←", () => this.move(-0.4)), button("→", () => this.move(0.4)), button("All", () => { this.view = [...this.whole]; this.show(); }));
      this.panel.append(this.said, row);
      figure.append(this.panel);
      this.listen();
      // What stands out most is read first; of readings the last.
      const best = plot.last ? this.points[this.points.length - 1] : (this.names.length ? this.names : this.points).reduce((a, b) => (Math.abs(b.y) > Math.abs(a.y) ? b : a));
      this.at = this.nearest(this.toX(best.x));
      this.show();
    }

    toX(x) { return this.logX ? Math.log10(x) : x; }
    fromX(x) { return this.logX ? 10 ** x : x; }
    toY(y) { return this.logY ? Math.log10(y) : y; }
    fromY(y) { return this.logY ? 10 ** y : y; }

    nearest(x) {
      let best = 0;
      this.points.forEach((p, n) => { if (Math.abs(this.toX(p.x) - x) < Math.abs(this.toX(this.points[best].x) - x)) best = n; });
      return best;
    }

    // The highest point close to the finger, so that a line is hit and not the floor beside it.
    near(x) {
      const reach = (this.view[1] - this.view[0]) * 0.012;
      let best = this.nearest(x);
      if (!this.names.length) return best;
      this.points.forEach((p, n) => { if (Math.abs(this.toX(p.x) - x) <= reach && p.y > this.points[best].y) best = n; });
      return best;
    }

    zoom(times, about) {
      const middle = about === undefined ? this.toX(this.points[this.at].x) : about;
      const whole = this.whole[1] - this.whole[0];
      const width = Math.min(whole, Math.max(whole / 2000, (this.view[1] - this.view[0]) * times));
      const share = (middle - this.view[0]) / (this.view[1] - this.view[0]);
      this.set(middle - share * width, width);
    }

    move(share) { const width = this.view[1] - this.view[0]; this.set(this.view[0] + share * width, width); }

    set(from, width) {
      const low = Math.min(Math.max(from, this.whole[0]), this.whole[1] - width);
      this.view = [low, low + width];
      this.show();
    }

    step(by) {
      this.at = Math.min(this.points.length - 1, Math.max(0, this.at + by));
      const x = this.toX(this.points[this.at].x);
      if (x < this.view[0] || x > this.view[1]) this.set(x - (this.view[1] - this.view[0]) / 2, this.view[1] - this.view[0]);
      else this.show();
    }

    listen() {
      const x = (event) => {
        const box = this.svg.getBoundingClientRect();
        const at = ((event.clientX - box.left) / box.width) * this.width;
        return this.view[0] + ((at - this.left) / (this.width - this.left - 8)) * (this.view[1] - this.view[0]);
      };
      this.svg.addEventListener("pointerdown", (event) => { this.at = this.near(x(event)); this.show(); });
      this.svg.addEventListener("pointermove", (event) => { if (event.pointerType === "mouse" || event.buttons) { this.at = this.near(x(event)); this.show(); } });
      this.svg.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(event.deltaY > 0 ? 1.25 : 0.8, x(event)); }, { passive: false });
      this.svg.addEventListener("keydown", (event) => {
        const act = { ArrowLeft: () => this.step(-1), ArrowRight: () => this.step(1), "+": () => this.zoom(0.5), "-": () => this.zoom(2) }[event.key];
        if (act) { event.preventDefault(); act(); }
      });
      window.addEventListener("resize", () => this.show());
    }

    show() {
      const { svg, view } = this;
      this.width = Math.max(280, svg.clientWidth || 360);
      this.left = 56;
      const { left } = this;
      const height = 240, top = 12, bottom = height - 30, right = this.width - 8;
      svg.replaceChildren();
      svg.setAttribute("viewBox", `0 0 ${this.width} ${height}`);
      const seen = this.points.filter((p) => this.toX(p.x) >= view[0] && this.toX(p.x) <= view[1]);
      // The band is kept whole, with a point beyond either edge, so that it does not end within the field.
      const inside = (p) => this.toX(p.x) >= view[0] && this.toX(p.x) <= view[1];
      const band = this.band.filter((p, n, all) => inside(p) || inside(all[n - 1] || p) || inside(all[n + 1] || p));
      const ys = [...(seen.length ? seen : this.points), ...this.band.filter(inside), ...this.limits]
        .flatMap((p) => [p.low ?? p.y, p.high ?? p.y]).map((y) => this.toY(y));
      let low = ys.reduce((a, b) => Math.min(a, b)), high = ys.reduce((a, b) => Math.max(a, b));
      // Four decades and a half under the highest: what lies deeper says nothing.
      if (this.logY) low = Math.max(low, high - 4.5);
      const room = Math.max((high - low) * 0.06, 1e-6);
      low -= room; high += room;
      const px = (x) => this.left + ((this.toX(x) - view[0]) / (view[1] - view[0])) * (right - this.left);
      const py = (y) => bottom - ((this.toY(y) - low) / (high - low)) * (bottom - top);
      const xs = this.logX ? decades(this.fromX(view[0]), this.fromX(view[1])) : ticks(view[0], view[1], 5);
      xs.forEach((at) => {
        draw("line", { class: "grid", x1: px(at), x2: px(at), y1: top, y2: bottom }, svg);
        draw("text", { class: "axis", x: px(at), y: bottom + 16, "text-anchor": "middle" }, svg, short(at));
      });
      (this.logY ? decades(this.fromY(low), this.fromY(high)) : ticks(low, high, 5)).forEach((at) => {
        draw("line", { class: "grid", x1: this.left, x2: right, y1: py(at), y2: py(at) }, svg);
        draw("text", { class: "axis", x: this.left - 5, y: py(at) + 4, "text-anchor": "end" }, svg, short(at));
      });
      const said = (name) => (typeof name === "function" ? name(this.all) : name);
      draw("text", { class: "axis", x: right, y: bottom + 28, "text-anchor": "end" }, svg, said(this.plot.x));
      draw("text", { class: "axis", x: 2, y: 11 }, svg, said(this.plot.y));
      const path = (points, y) => points.map((p, n) => `${n ? "L" : "M"}${px(p.x).toFixed(1)} ${py(y(p)).toFixed(1)}`).join("");
      const area = (points) => `${path(points, (p) => p.high)}${path([...points].reverse(), (p) => p.low).replace("M", "L")}Z`;
      // Nothing is drawn outside the field.
      const field = this.field(left, top, right, bottom);
      if (band.length > 1) {
        draw("path", { class: "spread", d: area(band) }, field);
        if (band[0].y !== undefined) draw("path", { class: "curve", d: path(band, (p) => p.y), fill: "none" }, field);
      }
      this.limits.forEach((limit) => {
        draw("line", { class: "limit", x1: left, x2: right, y1: py(limit.y), y2: py(limit.y), "stroke-dasharray": "6 4" }, svg);
        draw("text", { class: "label", x: left + 3, y: py(limit.y) - 3 }, svg, limit.name);
      });
      if (this.plot.dots) {
        if (this.plot.joined) draw("path", { class: "curve", d: path(this.points, (p) => p.y), fill: "none" }, field);
        seen.forEach((p) => {
          if (p.low !== undefined) draw("line", { class: "doubt", x1: px(p.x), x2: px(p.x), y1: py(p.low), y2: py(p.high) }, svg);
          draw("circle", { class: p.counts === false ? "end" : "dot", cx: px(p.x), cy: py(p.y), r: 4 }, svg);
        });
      } else {
        if (seen.length && seen[0].low !== undefined) draw("path", { class: "spread", d: area(seen) }, svg);
        draw("path", { class: "curve", d: path(seen, (p) => (this.logY ? Math.max(p.y, this.fromY(low)) : p.y)), fill: "none" }, svg);
      }
      const here = this.points[this.at];
      if (seen.includes(here)) {
        draw("line", { class: "today", x1: px(here.x), x2: px(here.x), y1: top, y2: bottom }, svg);
        draw("circle", { class: "dot", cx: px(here.x), cy: py(here.y), r: 4.5 }, svg);
      }
      const reach = (view[1] - view[0]) * 0.01;
      const named = this.names.find((line) => Math.abs(this.toX(line.x) - this.toX(here.x)) <= reach);
      this.said.textContent = this.plot.read(named || here, this.all);
    }

    // A group that is cut off at the edges of the field.
    field(left, top, right, bottom) {
      const id = `field-of-${this.name}`;
      const clip = draw("clipPath", { id }, this.svg);
      draw("rect", { x: left, y: top, width: right - left, height: bottom - top }, clip);
      return draw("g", { "clip-path": `url(#${id})` }, this.svg);
    }
  }

  found.querySelectorAll("figure").forEach((figure) => {
    const svg = figure.querySelector("svg.plot");
    const name = svg && Object.keys(PLOTS).find((one) => svg.classList.contains(one));
    if (!name) return;
    const row = document.createElement("p");
    row.className = "ways";
    const open = button("Look closer", async () => {
      open.disabled = true;
      try {
        const all = await load();
        new Closer(figure, name, all);
        row.remove();
      } catch {
        open.textContent = "The figures could not be read; try again";
        open.disabled = false;
      }
    });
    open.dataset.closer = name;
    row.append(open);
    figure.append(row);
  });
})();
