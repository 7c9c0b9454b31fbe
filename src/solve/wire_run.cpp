// Wires that end in one another.
#include "solve/wire_run.h"

#include <algorithm>

namespace loomproof {

std::optional<WireRun> run_of(const Circuit& circuit, const Branch& wire) {
  const Loom& loom = *circuit.loom;
  const Wire& own = loom.wires[wire.index];
  if (!own.length || !own.size) return std::nullopt;
  WireRun run{{circuit.wire_branch[wire.index]}, wire.a, wire.b, own.length->value};
  for (int* end : {&run.from, &run.to}) {
    while (true) {
      std::optional<std::size_t> next;
      std::size_t met = 0;
      for (std::size_t i : circuit.island_branches[wire.island]) {
        const Branch& b = circuit.branches[i];
        if (b.a != *end && b.b != *end) continue;
        ++met;
        if (b.type == BranchType::wire && std::find(run.branches.begin(), run.branches.end(), i) == run.branches.end())
          next = i;
      }
      if (met != 2 || !next) break;
      const Branch& b = circuit.branches[*next];
      const Wire& w = loom.wires[b.index];
      if (!w.length || !w.size || w.size->value > own.size->value || b.a == b.b) break;
      run.branches.push_back(*next);
      run.length = Metre(run.length.value + w.length->value.value);
      *end = b.a == *end ? b.b : b.a;
    }
  }
  return run;
}

std::vector<std::size_t> fuses_in_row(const Circuit& circuit, const Branch& wire) {
  std::vector<std::size_t> out;
  for (int node : {wire.a, wire.b}) {
    const Branch* at = &wire;
    while (at->type == BranchType::wire) {
      const Branch* next = nullptr;
      std::size_t met = 0;
      for (std::size_t i : circuit.island_branches[wire.island]) {
        const Branch& b = circuit.branches[i];
        if (&b == at || (b.a != node && b.b != node)) continue;
        ++met;
        next = &b;
      }
      if (met != 1 || next == &wire || next->a == next->b) break;
      if (next->type == BranchType::fuse) out.push_back(next->index);
      node = next->a == node ? next->b : next->a;
      at = next;
    }
  }
  return out;
}

}  // namespace loomproof
