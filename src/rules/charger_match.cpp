// charger-match: a charger ends at the pack's own full voltage and gives no more than its cells may take. Packs in
// series between its poles count as one.
//
// docs/rules/charger-match.md
#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "rules/list.h"
#include "rules/subject.h"
#include "solve/conductor_pieces.h"
#include "solve/pack_duty.h"
#include "units/print.h"

namespace loomproof {
namespace {

// A charger's own tolerance, which the cells stand: half a percent (common practice, no source).
constexpr double tolerance = 0.005;

// Packs in series between the poles of a charger, each by its place among packs_of(), from the negative upwards.
using String = std::vector<std::size_t>;

class Strings {
 public:
  Strings(const Solved& solved, const std::vector<PackPoles>& packs)
      : solved_(solved), packs_(packs), pieces_(solved.circuit, true) {}

  /// Every string that conductors lay between the poles of the charger while it charges: packs may be switched from
  /// series to parallel for that.
  std::set<String> of(std::size_t charger) {
    std::set<String> out;
    const Source& s = solved_.loom->elements.sources[charger];
    for (const OperatingPoint& point : solved_.points) {
      String string;
      if (point.logic.source_on[charger] != 0)
        follow(point.logic, solved_.circuit.node(s.neg), solved_.circuit.node(s.pos), string, out);
    }
    if (!out.empty()) return out;
    // None is tied to it outright, as where a resistor lies between: whatever it can reach at all.
    for (std::size_t k = 0; k < packs_.size(); ++k) {
      if (solved_.circuit.island_of[solved_.circuit.node(s.pos)] == solved_.circuit.island_of[packs_[k].pos])
        out.insert({k});
    }
    return out;
  }

 private:
  void follow(const LogicState& logic, int at, int pos, String& string, std::set<String>& out) {
    if (!string.empty() && pieces_.joined(logic, at, pos)) {
      out.insert(string);
      return;
    }
    for (std::size_t k = 0; k < packs_.size(); ++k) {
      const bool used = std::find(string.begin(), string.end(), k) != string.end();
      if (used || !pieces_.joined(logic, at, packs_[k].neg)) continue;
      string.push_back(k);
      follow(logic, packs_[k].pos, pos, string, out);
      string.pop_back();
    }
  }

  const Solved& solved_;
  const std::vector<PackPoles>& packs_;
  ConductorPieces pieces_;
};

// A string as one battery: no voltage where one of its packs has none.
struct Whole {
  std::string name, is;
  double full_v = 0, nominal_v = 0;
};

Whole whole_of(const Loom& loom, const std::vector<PackPoles>& packs, const String& string) {
  Whole out;
  bool told = true;
  for (const std::size_t k : string) {
    const Source& cells = loom.elements.sources[packs[k].source];
    out.name += (out.name.empty() ? "'" : " and '") + loom.part(packs[k].part).name + "'";
    out.full_v += packs[k].full_v;
    out.nominal_v += cells.nominal_v ? *cells.nominal_v : 0;
    told = told && packs[k].full_v > 0;
  }
  out.is = string.size() > 1 ? "in series are" : "is";
  if (!told) out.full_v = 0;
  return out;
}

// Half a percent decides: three digits would print 100.8 V and its limit of 101.3 V alike.
std::string volts_text(double volts) {
  return fmt::format("{:.4g} V", volts);
}

void judge_volts(const Loom& loom, const Source& charger, const Whole& pack, Obligation& owed) {
  if (!charger.full_v || pack.full_v <= 0) {
    owed.undecided(fmt::format("final voltage of '{}' is not given", loom.part(charger.part).name),
                   ask_for(loom, charger, charger.full_v, "58.4 V"));
    return;
  }
  const double out_v = *charger.full_v;
  const double most_v = pack.full_v * (1 + tolerance);
  const Figure figure{volts_text(out_v), volts_text(most_v), out_v / most_v};
  const std::string full = volts_text(pack.full_v);
  if (figure.used > 1) {
    owed.broken(fmt::format("'{}' charges up to {} and {} {} full at {}", loom.part(charger.part).name, figure.value,
                            pack.name, pack.is, full),
                figure)
        .note("overcharged cells vent and burn, hours later and with nobody near")
        .see(place_of(loom, charger, charger.full_v), "final voltage")
        .fix(fmt::format("a charger for {}", full));
    return;
  }
  if (out_v < pack.nominal_v) {
    owed.broken(fmt::format("'{}' ends at {}, where {} {} half empty: {} is full", loom.part(charger.part).name,
                            figure.value, pack.name, pack.is, full),
                Figure{figure.value, show(Volt(pack.nominal_v)), pack.nominal_v / out_v})
        .see(place_of(loom, charger, charger.full_v), "final voltage")
        .fix(fmt::format("a charger for {}", full))
        .as(Severity::nuisance);
    return;
  }
  owed.holds(figure);
}

void judge_amps(const Loom& loom, const Source& charger, const PackPoles& pack, Obligation& owed) {
  const Source& cells = loom.elements.sources[pack.source];
  if (!charger.limit_a) {
    owed.undecided(fmt::format("largest current of '{}' is not given", loom.part(charger.part).name),
                   ask_for(loom, charger, charger.limit_a, "15 A"));
    return;
  }
  if (!cells.charge_a) {
    owed.undecided(fmt::format("'{}' charges with {} and what '{}' may take is not given", loom.part(charger.part).name,
                               show(Ampere(*charger.limit_a)), loom.part(pack.part).name),
                   ask_for(loom, cells, cells.charge_a, "40 A"));
    return;
  }
  const Figure figure{show(Ampere(*charger.limit_a)), show(Ampere(*cells.charge_a)),
                      used_of_ceiling(*charger.limit_a, *cells.charge_a)};
  if (figure.used <= 1) {
    owed.holds(figure);
    return;
  }
  owed.broken(fmt::format("'{}' charges with {} and '{}' may take {}", loom.part(charger.part).name, figure.value,
                          loom.part(pack.part).name, figure.limit),
              figure)
      .see(place_of(loom, charger, charger.limit_a), "largest current")
      .see(place_of(loom, cells, cells.charge_a), "largest charging current")
      .fix("a smaller charger");
}

void judge_charger_match(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const auto packs = packs_of(solved.circuit);
  Strings strings(solved, packs);
  for (std::size_t i = 0; i < loom.elements.sources.size(); ++i) {
    const Source& s = loom.elements.sources[i];
    if (s.zone != Zone::traction || s.sinks) continue;
    std::set<std::size_t> charged;
    for (const String& string : strings.of(i)) {
      Subject volts = subject_of(loom, s.part);
      volts.name += ".out";
      judge_volts(loom, s, whole_of(loom, packs, string), ledger.open(rule, std::move(volts)));
      charged.insert(string.begin(), string.end());
    }
    for (const std::size_t k : charged) {
      Subject amps = subject_of(loom, s.part);
      amps.name += ".limit";
      judge_amps(loom, s, packs[k], ledger.open(rule, std::move(amps)));
    }
  }
}

}  // namespace

const Rule charger_match{
    .slug = "charger-match",
    .group = Group::source,
    .severity = Severity::danger,
    .promise = "A charger ends at the pack's own full voltage and gives no more than its cells may take.",
    .judge = judge_charger_match,
};

}  // namespace loomproof
