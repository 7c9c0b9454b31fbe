// Looms of any size for benchmarks: one pack, one drive, and as many fused 12 V branches as are asked for.
#pragma once

#include <string>

#include <fmt/format.h>

namespace loomproof {

/// A loom of about `wires` wires, growing by branches of four: fuse, switch, lamp, return. One switch in a hundred is
/// operated, the others are always closed (flashers), so that the switch states do not grow with the size.
inline std::string generated_loom(int wires) {
  std::string parts =
      "  pack: {is: pack, chemistry: lfp, series: 16, parallel: 3, cell_resistance: 1.2 mohm}\n"
      "  pack_fuse: {is: fuse, rated: 150 A, volts: 80 V, breaks: 12 kA, curve: bolt-in}\n"
      "  dcdc: {is: dcdc, in: 36 V to 75 V, out: 13.2 V, limit: 20 A, isolated: true, inrush: 10 A}\n"
      "  frame: {is: frame}\n  bus: {is: splice}\n";
  std::string lines =
      "  T1: {from: pack.pos, to: pack_fuse.a, size: 35 mm2, length: 0.15 m, insulation: silicone-180, colour: RD}\n"
      "  T2: {from: pack_fuse.b, to: dcdc.in_pos, size: 35 mm2, length: 0.5 m, insulation: silicone-180, colour: RD}\n"
      "  T3: {from: pack.neg, to: dcdc.in_neg, size: 35 mm2, length: 0.5 m, insulation: silicone-180, colour: BK}\n"
      "  L1: {from: dcdc.out_pos, to: bus, size: 4 mm2, length: 0.3 m, insulation: pvc-105, colour: OG}\n"
      "  L2: {from: dcdc.out_neg, to: frame.main, size: 4 mm2, length: 0.3 m, insulation: pvc-105, colour: BN}\n";
  const int branches = (wires - 5) / 4;
  for (int i = 0; i < branches; ++i) {
    parts += fmt::format(
        "  f{0}: {{is: fuse, rated: 3 A, volts: 32 V, breaks: 1 kA, curve: blade}}\n"
        "  s{0}: {1}\n  l{0}: {{is: led-lamp, watts: {2} mW, volts: 12 V, works: 9 V to 16 V}}\n",
        i,
        i % 100 == 0 && i < 400 ? "{is: switch, positions: [off, on], carries: 5 A, volts: 14 V}"
                                : "{is: flasher, carries: 5 A, volts: 14 V}",
        20 + i % 7);
    const std::string in = i % 12 == 0 ? "" : fmt::format(", in: b{}", i / 12);
    lines += fmt::format(
        "  W{0}a: {{from: bus, to: f{0}.a, size: 2.5 mm2, length: 0.2 m, insulation: pvc-105, colour: OG{1}}}\n"
        "  W{0}b: {{from: f{0}.b, to: s{0}.a, size: 1.5 mm2, length: {2} mm, insulation: pvc-105, colour: YE{1}}}\n"
        "  W{0}c: {{from: s{0}.b, to: l{0}.pos, size: 1.5 mm2, length: 0.9 m, insulation: pvc-105, colour: YE{1}}}\n"
        "  W{0}d: {{from: l{0}.neg, to: frame.g{3}, size: 1.5 mm2, length: 0.3 m, insulation: pvc-105, colour: BN}}\n",
        i, in, 600 + i % 50, i % 20);
  }
  std::string bundles;
  for (int b = 0; b <= branches / 12; ++b) bundles += fmt::format("  b{}: {{ambient: 50 degC, sleeve: corrugated}}\n", b);
  return fmt::format(
      "loom: 1\nvehicle: {{name: Generated}}\nconditions: {{ambient: 40 degC}}\nparts:\n{}wires:\n{}bundles:\n{}", parts,
      lines, bundles);
}

}  // namespace loomproof
