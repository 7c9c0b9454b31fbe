// Every constraint must be true of all choices that hold: where it is not certain which value mends, all that might do.
#include "size/cause.h"

#include <algorithm>
#include <set>

#include "rules/list.h"
#include "size/lookup.h"
#include "size/volts_lost.h"

namespace loomproof {
namespace {

bool is_current(const std::string& figure) {
  return figure.ends_with('A') && !figure.ends_with("VA");
}

class Blame {
 public:
  Blame(const Ground& ground, const Choice& now, const Choice& lows, const Corner& corner, Causes& out)
      : ground_(ground), now_(now), lows_(lows), corner_(corner), lookup_(*corner.loom, ground.values), out_(out) {}

  void all() {
    for (const Obligation& owed : corner_.judgement.obligations) {
      if (!misses(ground_, owed)) continue;
      const bool told = one(owed);
      if (!told && owed.verdict == Verdict::broken) out_.beyond.push_back(owed);
    }
  }

 private:
  bool one(const Obligation& owed) {
    const std::string_view slug = owed.rule->slug;
    if (slug == "wire-heat") return wire_heat(owed);
    if (slug == "fuse-protects-wire") return protects(owed);
    if (slug == "unfused-source-lead") return bare_lead(owed);
    if (slug == "fuse-duty" && owed.subject.part) return rating(owed, lookup_.rating(*owed.subject.part));
    if ((slug == "contact-ratings" || slug == "contact-inrush") && owed.subject.part && owed.figure) {
      return is_current(owed.figure->value) && rating(owed, lookup_.part(*owed.subject.part, "carries"));
    }
    if (slug == "voltage-drop" || slug == "supply-voltage") return volts(owed);
    if (slug == "fuse-opens") return owed.verdict == Verdict::broken && too_large(owed);
    if (slug == "fuse-order") return owed.verdict == Verdict::broken && order(owed);
    return owed.verdict == Verdict::broken && other(owed);
  }

  Reason why(const Obligation& owed) const {
    const std::string text =
        !owed.what.empty() ? owed.what
        : owed.figure      ? fmt::format("'{}': {} reaches {} of the {} that are allowed, and {:.0f} % are to be left",
                                         owed.subject.name, owed.rule->slug, owed.figure->value, owed.figure->limit,
                                         ground_.margin * 100)
                           : owed.subject.name;
    return {corner_.name == "as written" ? text : text + " (" + corner_.name + ")", owed.subject.at,
            std::string(owed.rule->slug)};
  }

  Literal up(std::size_t v) const { return {v, now_[v] + 1}; }

  bool add(std::vector<Literal> given, std::vector<Literal> any, const Obligation& owed) {
    if (given.empty() && any.empty()) return false;
    out_.clauses.push_back({std::move(given), std::move(any), why(owed)});
    return true;
  }

  bool wire_heat(const Obligation& owed) {
    if (!owed.subject.wire) return false;
    const Loom& loom = *corner_.loom;
    std::set<std::size_t> may;
    if (const auto own = lookup_.wire(owed.subject.wire->value)) may.insert(*own);
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      const auto& theirs = loom.wires[w].bundles;
      const bool mate = std::any_of(theirs.begin(), theirs.end(), [&](BundleIndex b) {
        const auto& own = loom.wire(*owed.subject.wire).bundles;
        return std::find(own.begin(), own.end(), b) != own.end();
      });
      if (const auto v = lookup_.wire(w); mate && v) may.insert(*v);
    }
    std::vector<Literal> any;
    for (const std::size_t v : may) any.push_back(up(v));
    return add({}, std::move(any), owed);
  }

  // Fuses above their lowest that could still protect the wire if they were lower.
  std::vector<Literal> raised_fuses(std::size_t wire) const {
    const Circuit& circuit = corner_.solved.circuit;
    const int island = circuit.branches[circuit.wire_branch[wire]].island;
    std::set<std::size_t> raised;
    for (const Branch& b : circuit.branches) {
      if (b.type != BranchType::fuse || b.island != island) continue;
      const auto v = lookup_.rating(corner_.loom->elements.fuses[b.index].part);
      if (v && now_[*v] > lows_[*v]) raised.insert(*v);
    }
    std::vector<Literal> given;
    for (const std::size_t v : raised) given.push_back({v, now_[v]});
    return given;
  }

  bool protects(const Obligation& owed) {
    if (!owed.subject.wire) return false;
    const std::size_t w = owed.subject.wire->value;
    std::vector<Literal> given = raised_fuses(w);
    const WireProtection& p = corner_.solved.protection.wires[w];
    const auto fuse = p.fuse ? lookup_.rating(corner_.loom->elements.fuses[*p.fuse].part) : std::nullopt;
    const auto own = lookup_.wire(w);
    if (fuse && std::none_of(given.begin(), given.end(), [&](const Literal& l) { return l.value == *fuse; })) {
      given.push_back({*fuse, now_[*fuse]});  // what asks for the fuse is a fact beside this one
    }
    if (!own) return add(std::move(given), {}, owed);
    // No size helps where no device opens at all and its source does not limit itself.
    const bool largest = now_[*own] + 1 >= ground_.values[*own].options.size();
    if (largest && p.state == WireProtection::State::none) return false;
    return add(std::move(given), {up(*own)}, owed);
  }

  bool bare_lead(const Obligation& owed) {
    std::vector<Literal> any;
    for (const BareLead& lead : corner_.solved.protection.bare_leads) {
      if (!owed.subject.wire || lead.wires.front() != *owed.subject.wire) continue;
      for (const WireIndex w : lead.wires) {
        if (const auto v = lookup_.wire(w.value)) any.push_back(up(*v));
      }
    }
    // Only a source that limits itself is harmless to a larger wire; a pack is not.
    const auto limited = [&] {
      for (const BareLead& lead : corner_.solved.protection.bare_leads) {
        if (!owed.subject.wire || lead.wires.front() != *owed.subject.wire) continue;
        const PartIndex part = corner_.loom->terminal(lead.pole).part;
        for (const Source& s : corner_.loom->elements.sources) {
          if (s.part == part) return s.limit_a.value.has_value();
        }
        return true;
      }
      return false;
    };
    return limited() && add({}, std::move(any), owed);
  }

  bool rating(const Obligation& owed, std::optional<std::size_t> value) { return value && add({}, {up(*value)}, owed); }

  bool volts(const Obligation& owed) {
    auto budget = budget_of(ground_, lookup_, corner_, owed);
    if (!budget) return false;
    out_.budgets.push_back(std::move(*budget));
    return true;
  }

  // A fuse that no short opens: smaller where it is above its lower end, else no size mends it.
  bool too_large(const Obligation& owed) {
    const auto fuse = owed.subject.part ? lookup_.rating(*owed.subject.part) : std::nullopt;
    return fuse && now_[*fuse] > lows_[*fuse] && add({{*fuse, now_[*fuse]}}, {}, owed);
  }

  // The upstream fuse, as long as the one behind it is not smaller.
  bool order(const Obligation& owed) {
    if (!owed.subject.part) return false;
    const auto down = lookup_.rating(*owed.subject.part);
    std::vector<Literal> given, any;
    if (down && now_[*down] > lows_[*down]) given.push_back({*down, now_[*down]});
    for (const Note& note : owed.notes) {
      const auto up_value = lookup_.at(note.at);
      if (up_value && up_value != down) any.push_back(up(*up_value));
    }
    return add(std::move(given), std::move(any), owed);
  }

  bool other(const Obligation& owed) {
    std::set<std::size_t> may;
    if (owed.subject.wire) {
      if (const auto v = lookup_.wire(owed.subject.wire->value)) may.insert(*v);
    }
    if (owed.subject.part) {
      for (const char* attribute : {"rated", "sense_fuse.rated", "carries", "watts", "pulse"}) {
        if (const auto v = lookup_.part(*owed.subject.part, attribute)) may.insert(*v);
      }
    }
    for (const Note& note : owed.notes) {
      if (const auto v = lookup_.at(note.at); v && ground_.values[*v].type != Value::Type::ohms) may.insert(*v);
    }
    std::vector<Literal> any;
    for (const std::size_t v : may) {
      if (now_[v] + 1 < ground_.values[v].options.size()) any.push_back(up(v));
    }
    return add({}, std::move(any), owed);
  }

  const Ground& ground_;
  const Choice& now_;
  const Choice& lows_;
  const Corner& corner_;
  const Lookup lookup_;
  Causes& out_;
};

}  // namespace

Causes causes_of(const Ground& ground, const Choice& now, const Choice& lows, const Trial& trial) {
  Causes out;
  for (const Corner& corner : trial.corners) Blame(ground, now, lows, corner, out).all();
  return out;
}

std::vector<char> wires_past_limit(const Ground& ground, const Trial& trial) {
  std::vector<char> past(trial.corners.front().loom->wires.size(), 0);
  for (const Corner& corner : trial.corners) {
    for (const Obligation& owed : corner.judgement.obligations) {
      if (!misses(ground, owed) || !owed.subject.wire) continue;
      const std::string_view slug = owed.rule->slug;
      if (slug == "wire-heat" || slug == "fuse-protects-wire") past[owed.subject.wire->value] = 1;
    }
  }
  return past;
}

std::vector<double> used_ratings(const Ground& ground, const Choice& now, const Trial& trial) {
  std::vector<double> used(now.size(), 0);
  for (const Corner& corner : trial.corners) {
    const Lookup lookup(*corner.loom, ground.values);
    for (const Obligation& owed : corner.judgement.obligations) {
      if (!owed.figure || !owed.subject.part) continue;
      std::optional<std::size_t> value;
      if (owed.rule->slug == "fuse-duty") value = lookup.rating(*owed.subject.part);
      if (owed.rule->slug == "contact-ratings" && is_current(owed.figure->value)) {
        value = lookup.part(*owed.subject.part, "carries");
      }
      if (value) used[*value] = std::max(used[*value], owed.figure->used / (1 - ground.margin));
    }
  }
  return used;
}

}  // namespace loomproof
