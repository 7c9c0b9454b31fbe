// Looms of invented 12 V vehicles from a seed, every size left as `choose`; and the steps that every test of sizes
// takes.
#pragma once

#include <random>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "read/read.h"
#include "read/slots.h"
#include "size/edit.h"
#include "size/size.h"

namespace sizes {

/// A battery, its fuse, and `branches` of fuse, switch, lamps and returns; some wires share a bundle.
inline std::string generated(unsigned seed, int branches) {
  std::mt19937 random(seed);
  const auto pick = [&](int low, int high) {
    return low + static_cast<int>(random() % static_cast<unsigned>(high - low + 1));
  };
  std::string parts = fmt::format(
      "  bat: {{is: battery, resistance: {} mohm, capacity: 40 Ah}}\n"
      "  main_fuse: {{is: fuse, rated: choose, volts: 32 V, breaks: 10 kA, curve: bolt-in}}\n"
      "  frame: {{is: frame}}\n  bus: {{is: splice}}\n"
      "  key: {{is: switch, positions: [off, on], carries: choose, volts: 16 V, resistance: 1 mohm}}\n",
      pick(8, 30));
  std::string wires = fmt::format(
      "  B1: {{from: bat.pos, to: main_fuse.a, size: choose, length: 0.12 m, insulation: pvc-105}}  # close to the "
      "pole\n"
      "  B2: {{from: main_fuse.b, to: key.a, size: choose, length: {} cm, insulation: pvc-105}}\n"
      "  B4: {{from: key.b, to: bus, size: choose, length: 20 cm, insulation: pvc-105}}\n"
      "  B3: {{from: bat.neg, to: frame.main, size: choose, length: {} cm, insulation: pvc-105}}\n",
      pick(20, 90), pick(20, 60));
  const bool bundled = pick(0, 1) == 1;
  const char* const insulations[] = {"pvc-105", "pvc-105", "xlpe-125", "pvc-90"};
  for (int i = 0; i < branches; ++i) {
    const char* const insulation = insulations[pick(0, 3)];
    const bool switched = i == 0;
    parts += fmt::format("  f{0}: {{is: fuse, rated: choose, volts: 32 V, breaks: 10 kA, curve: blade}}\n", i);
    parts += switched ? fmt::format("  s{}: {{is: switch, positions: [off, on], carries: choose, volts: 16 V}}\n", i)
                      : fmt::format("  s{}: {{is: flasher, carries: choose, volts: 16 V}}\n", i);
    const int lamps = pick(1, 2);
    const std::string in = bundled && i % 2 == 0 ? ", in: run" : "";
    wires += fmt::format(
        "  W{0}a: {{from: bus, to: f{0}.a, size: choose, length: 15 cm, insulation: {1}}}\n"
        "  W{0}b: {{from: f{0}.b, to: s{0}.a, size: choose, length: {2} cm, insulation: {1}{3}}}   # branch {0}\n",
        i, insulation, pick(30, 200), in);
    for (int l = 0; l < lamps; ++l) {
      const bool led = pick(0, 1) == 1;
      parts += led ? fmt::format("  l{}_{}: {{is: led-lamp, watts: {} W, volts: 12 V, works: 9 V to 16 V}}\n", i, l,
                                 pick(2, 30))
                   : fmt::format("  l{}_{}: {{is: lamp, watts: {} W, volts: 12 V}}\n", i, l, pick(3, 30));
      wires += fmt::format(
          "  W{0}c{1}: {{from: s{0}.b, to: l{0}_{1}.{2}, size: choose, length: {3} cm, insulation: {4}}}\n"
          "  W{0}d{1}: {{from: l{0}_{1}.{5}, to: frame.g{0}, size: choose, length: {6} cm, insulation: {4}}}\n",
          i, l, led ? "pos" : "a", pick(20, 250), insulation, led ? "neg" : "b", pick(15, 60));
    }
  }
  return fmt::format(
      "loom: 1\n# seed {}\nvehicle: {{name: Generated}}\nconditions: {{ambient: {} degC, coldest: 0 degC}}\nparts:\n{}"
      "wires:\n{}bundles:\n  run: {{ambient: 50 degC, sleeve: corrugated}}\n",
      seed, pick(30, 45), parts, wires);
}

inline loomproof::SizeRequest request_for(const std::string& text) {
  loomproof::SizeRequest request;
  request.text = text;
  request.slots = loomproof::find_slots(text);
  request.read = [](const std::string& t) { return loomproof::read_loom(t, "test.yaml").loom; };
  request.stock = loomproof::usual_stock();
  return request;
}

/// Findings of `check`, one a line.
inline std::string broken_in(const std::string& text) {
  const loomproof::ReadResult read = loomproof::read_loom(text, "test.yaml");
  if (!read.loom) return "does not read: " + read.faults.front().what;
  std::string out;
  const loomproof::Solved solved = loomproof::solve(*read.loom);
  for (const loomproof::Obligation& owed : loomproof::judge(solved).obligations) {
    if (owed.verdict == loomproof::Verdict::broken && owed.waived.empty()) out += owed.what + "\n";
  }
  return out;
}

/// Every size of the text replaced by `choose`.
inline std::string opened(const std::string& text) {
  std::vector<loomproof::Edit> edits;
  for (const loomproof::Slot& slot : loomproof::find_slots(text)) {
    if (!slot.is_open() && (edits.empty() || edits.back().at != slot.at))
      edits.push_back({slot.at, slot.written, "choose"});
  }
  const auto out = loomproof::edited(text, std::move(edits));
  REQUIRE(out);
  return *out;
}

}  // namespace sizes
