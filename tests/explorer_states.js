// Answers of the explorer's arithmetic to a file of tanks and states, as JSON: node explorer_states.js KERNEL QUESTIONS.
"use strict";
const [, , kernelFile, questionsFile] = process.argv;
const Kernel = require(kernelFile);
const cases = JSON.parse(require("fs").readFileSync(questionsFile, "utf8"));

async function answers() {
  const found = [];
  for (const { tank: given, all, states } of cases) {
    const tank = await Kernel.tank(given, all ?? []);
    for (const { up, quantity } of states) {
      let drained;
      try {
        drained = Kernel.drain(tank, up);
      } catch (fault) {
        found.push({ fault: fault.message });
        continue;
      }
      const held = Kernel.holding(drained, quantity);
      found.push({
        residual: drained.residual,
        trapped: drained.trapped,
        stops: drained.stops,
        passed: tank.marks.map((_, i) => [1, 0].map((state) => Kernel.passed(drained, i, 0.0, state))),
        quantity: held.quantity,
        pools: held.pools.map((pool) => pool.volume),
        below: tank.marks.map((mark) => Kernel.volumeBelow(drained.turned, Kernel.dot(mark.point, up))),
        wet: tank.marks.map((mark, i) => held.levels[drained.tree.portSeed[tank.outlets.length + i]] - Kernel.dot(mark.point, up)),
      });
    }
  }
  return found;
}

answers().then((found) => process.stdout.write(JSON.stringify(found)));
