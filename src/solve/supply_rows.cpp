// Packs in series: followed from each positive downwards, point by point.
#include "solve/supply_rows.h"

#include <algorithm>
#include <set>

#include "solve/conductor_pieces.h"
#include "solve/pack_duty.h"

namespace loomproof {
namespace {

using Chain = std::vector<std::size_t>;  // places among packs_of(), from the positive downwards

void follow(ConductorPieces& pieces, const LogicState& logic, const std::vector<PackPoles>& packs, Chain& chain,
            std::set<Chain>& out) {
  if (chain.size() > 1) out.insert(chain);
  const int below = packs[chain.back()].neg;
  for (std::size_t k = 0; k < packs.size(); ++k) {
    const bool used = std::find(chain.begin(), chain.end(), k) != chain.end();
    if (used || !pieces.joined(logic, below, packs[k].pos)) continue;
    chain.push_back(k);
    follow(pieces, logic, packs, chain, out);
    chain.pop_back();
  }
}

SupplyRow row_of(const std::vector<PackPoles>& packs, const Chain& chain) {
  SupplyRow out;
  out.pos = packs[chain.front()].pos;
  out.neg = packs[chain.back()].neg;
  for (std::size_t i = 0; i < chain.size(); ++i) {
    const PackPoles& pack = packs[chain[i]];
    out.parts.push_back(pack.part);
    out.full_v += pack.full_v;
    if (i > 0) out.links.emplace_back(packs[chain[i - 1]].neg, pack.pos);
  }
  return out;
}

}  // namespace

std::string SupplyRow::names(const Loom& loom) const {
  std::string out;
  for (const PartIndex part : parts) out += (out.empty() ? "'" : " and '") + loom.part(part).name + "'";
  return out;
}

std::vector<SupplyRow> supply_rows(const Circuit& circuit, const std::vector<OperatingPoint>& points) {
  std::vector<SupplyRow> out;
  for (const SupplyPoles& s : supply_poles(circuit)) out.push_back({{s.part}, s.pos, s.neg, s.full_v, {}});
  const std::vector<PackPoles> packs = packs_of(circuit);
  if (packs.size() < 2) return out;
  ConductorPieces pieces(circuit, true);
  std::set<Chain> chains;
  for (const OperatingPoint& point : points) {
    for (std::size_t k = 0; k < packs.size(); ++k) {
      Chain chain{k};
      follow(pieces, point.logic, packs, chain, chains);
    }
  }
  for (const Chain& chain : chains) out.push_back(row_of(packs, chain));
  return out;
}

}  // namespace loomproof
