// Poles are compared by the pieces that conductors make of the circuit with every contact closed.
#include "solve/pole_map.h"

#include <algorithm>

namespace loomproof {
namespace {

struct Poles {
  PartIndex part;
  TerminalIndex pos, neg;
};

// A source of several sections in a row, as a pack with taps is, counts from end to end.
std::optional<PolePair> whole_of(const std::vector<const Source*>& sections) {
  const auto ends = [&](auto end, auto other) {
    std::vector<TerminalIndex> out;
    for (const Source* s : sections) {
      if (std::none_of(sections.begin(), sections.end(), [&](const Source* x) { return x->*other == s->*end; }))
        out.push_back(s->*end);
    }
    return out;
  };
  const auto pos = ends(&Source::pos, &Source::neg), neg = ends(&Source::neg, &Source::pos);
  if (pos.size() != 1 || neg.size() != 1) return std::nullopt;
  PolePair out{sections.front()->part, pos.front(), neg.front(), 0.0, {}, {}};
  for (const Source* s : sections) {
    if (out.least_v && s->empty_v) {
      *out.least_v += *s->empty_v;
    } else {
      out.least_v.reset();
    }
  }
  return out;
}

std::vector<PolePair> supplies_of(const Loom& loom) {
  std::vector<PolePair> out;
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    std::vector<const Source*> sections;
    for (const Source& s : loom.elements.sources) {
      if (s.part == PartIndex{p} && s.zone != Zone::signal) sections.push_back(&s);
    }
    if (sections.empty()) continue;
    if (auto whole = whole_of(sections)) out.push_back(std::move(*whole));
  }
  for (const Converter& c : loom.elements.converters) {
    out.push_back({c.part, c.out_pos, c.out_neg, c.volts_v.value, {}, {}});
  }
  return out;
}

// What does not bear or not work with its poles exchanged.
std::vector<Poles> polar_parts(const Loom& loom, const std::vector<PolePair>& supplies) {
  std::vector<Poles> out;
  for (const Load& load : loom.elements.loads) {
    if (load.form != Load::Form::resistive) out.push_back({load.part, load.pos, load.neg});
  }
  for (const Converter& c : loom.elements.converters) out.push_back({c.part, c.in_pos, c.in_neg});
  for (const PolePair& s : supplies) out.push_back({s.part, s.pos, s.neg});
  return out;
}

void add_once(std::vector<PartIndex>& list, PartIndex part) {
  if (std::find(list.begin(), list.end(), part) == list.end()) list.push_back(part);
}

}  // namespace

PoleMap::PoleMap(const Solved& solved)
    : solved_(solved),
      piece_(
          components(solved.graph, solved.circuit, [&](const Branch& b) { return is_conductor(solved.circuit, b); })),
      supplies_(supplies_of(*solved.loom)) {
  const std::vector<Poles> polar = polar_parts(*solved.loom, supplies_);
  for (PolePair& s : supplies_) {
    if (piece(s.pos) == piece(s.neg)) continue;
    for (const Poles& p : polar) {
      if (p.part == s.part) continue;
      if (piece(p.pos) == piece(s.neg) && piece(p.neg) == piece(s.pos)) add_once(s.backward, p.part);
      if (piece(p.pos) == piece(s.pos) && piece(p.neg) == piece(s.neg)) add_once(s.straight, p.part);
    }
  }
}

int PoleMap::piece(TerminalIndex t) const {
  return piece_[solved_.circuit.node(t)];
}

const PolePair* PoleMap::turned(PartIndex part) const {
  const auto found = std::find_if(supplies_.begin(), supplies_.end(),
                                  [&](const PolePair& s) { return s.part == part && s.is_turned(); });
  return found == supplies_.end() ? nullptr : &*found;
}

const PolePair* PoleMap::turned_behind(TerminalIndex pos, TerminalIndex neg) const {
  const auto found = std::find_if(supplies_.begin(), supplies_.end(), [&](const PolePair& s) {
    return s.is_turned() && piece(pos) == piece(s.neg) && piece(neg) == piece(s.pos);
  });
  return found == supplies_.end() ? nullptr : &*found;
}

const PolePair* PoleMap::always_above(TerminalIndex a, TerminalIndex b, double limit_v) const {
  const auto found = std::find_if(supplies_.begin(), supplies_.end(), [&](const PolePair& s) {
    const auto lies = [&](TerminalIndex x, TerminalIndex y) {
      return piece(x) == piece(s.pos) && piece(y) == piece(s.neg);
    };
    return s.least_v && *s.least_v > limit_v && piece(s.pos) != piece(s.neg) && (lies(a, b) || lies(b, a));
  });
  return found == supplies_.end() ? nullptr : &*found;
}

}  // namespace loomproof
