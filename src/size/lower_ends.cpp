// Filament lamps draw up to 3 % less behind the smallest wires than behind the largest: what is only that far past a
// rating is not forced.
#include "size/lower_ends.h"

#include <algorithm>
#include <map>
#include <set>

#include "rules/list.h"
#include "size/floors.h"
#include "size/lookup.h"
#include "units/print.h"

namespace loomproof {
namespace {

constexpr double lamp_share = 0.97;
constexpr int most_passes = 40;

bool is_rating(const Value& value) {
  return value.type == Value::Type::fuse || value.type == Value::Type::contact;
}

class Finder {
 public:
  Finder(const Ground& ground, const TryChoice& attempt) : ground_(ground), try_(attempt) {
    for (const Value& value : ground.values) {
      top_.push_back(value.options.size() - 1);
      lows_.push_back(0);
    }
    why_.resize(lows_.size());
    given_.resize(lows_.size());
  }

  LowerEnds find() {
    ratings();
    wires();
    mates();
    LowerEnds out{lows_, {}};
    for (std::size_t v = 0; v < lows_.size(); ++v) {
      if (lows_[v] > 0) out.clauses.push_back({given_[v], {{v, lows_[v]}}, why_[v]});
      out.lows[v] = std::min(lows_[v], top_[v]);
    }
    return out;
  }

 private:
  // A choice with the wires as given and the ratings at their lower ends, none past its list.
  Choice within(Choice wires) const {
    for (std::size_t v = 0; v < wires.size(); ++v) {
      if (ground_.values[v].type != Value::Type::wire) wires[v] = std::min(lows_[v], top_[v]);
    }
    return wires;
  }

  void raise(const Clause& clause) {
    for (const Literal& l : clause.any) {
      if (l.least <= lows_[l.value]) continue;
      lows_[l.value] = l.least;
      why_[l.value] = clause.why;
    }
  }

  void ratings() {
    const Trial& first = try_(top_);
    for (const Corner& corner : first.corners) {
      for (const Clause& clause : precharge_floors(ground_, top_, corner)) raise(clause);
    }
    const std::vector<double> used = used_ratings(ground_, top_, first);
    for (std::size_t v = 0; v < used.size(); ++v) {
      if (!is_rating(ground_.values[v])) continue;
      const auto& options = ground_.values[v].options;
      const double needed = options.back().amount * used[v] * lamp_share;
      while (lows_[v] < options.size() && options[lows_[v]].amount < needed) {
        ++lows_[v];
        const bool fuse = ground_.values[v].type == Value::Type::fuse;
        why_[v] = {fmt::format("'{}' must be at least {} for the current that it carries",
                               ground_.values[v].slot().owner, show(Ampere(needed))),
                   ground_.values[v].slot().at, fuse ? "fuse-duty" : "contact-ratings"};
      }
    }
    if (std::none_of(ground_.values.begin(), ground_.values.end(), is_rating)) return;
    for (int pass = 0; pass < most_passes; ++pass) {
      const Choice now = within(top_);
      const Trial& trial = try_(now);
      const Causes causes = causes_of(ground_, now, now, trial);
      bool moved = false;
      const std::vector<double> share = used_ratings(ground_, now, trial);
      for (const Clause& clause : causes.clauses) {
        if (!clause.given.empty() || clause.any.size() != 1) continue;
        const std::size_t v = clause.any.front().value;
        if (!is_rating(ground_.values[v]) || lows_[v] > top_[v]) continue;
        why_[v] = clause.why;
        const bool by_current = clause.why.rule == "fuse-duty" || clause.why.rule == "contact-ratings";
        if (by_current && share[v] > 1 && share[v] * lamp_share <= 1) continue;
        raise(clause);
        moved = true;
      }
      if (!moved) return;
    }
  }

  std::vector<char> values_past(const Trial& trial) const {
    const Lookup lookup(*trial.corners.front().loom, ground_.values);
    std::vector<char> past(lows_.size(), 0);
    const std::vector<char> wires = wires_past_limit(ground_, trial);
    for (std::size_t w = 0; w < wires.size(); ++w) {
      if (const auto v = lookup.wire(w); v && wires[w] != 0) past[*v] = 1;
    }
    return past;
  }

  void note_why(const Choice& now, const Trial& trial) {
    for (const Clause& clause : causes_of(ground_, now, now, trial).clauses) {
      for (const Literal& l : clause.any) {
        const bool own = std::any_of(ground_.values[l.value].slots.begin(), ground_.values[l.value].slots.end(),
                                     [&](const Slot& s) { return clause.why.text.find("'" + s.owner + "'") == 0; });
        if (l.least != lows_[l.value] || (!own && clause.any.size() != 1)) continue;
        why_[l.value] = clause.why;
        given_[l.value] = clause.given;
      }
    }
  }

  void wires() {
    Choice high = top_;
    for (std::size_t v = 0; v < high.size(); ++v) ++high[v];  // one past the list: nothing in stock does
    Choice now = within(top_);
    for (int pass = 0; pass < most_passes; ++pass) {
      bool open = false;
      for (std::size_t v = 0; v < now.size(); ++v) {
        if (ground_.values[v].type != Value::Type::wire) continue;
        // The first pass tries the largest, so that what no size mends is known at once.
        now[v] = pass == 0 ? top_[v] : std::min((lows_[v] + high[v]) / 2, top_[v]);
        open |= lows_[v] < high[v];
      }
      if (!open) return;
      const Trial& trial = try_(now);
      const std::vector<char> past = values_past(trial);
      for (std::size_t v = 0; v < now.size(); ++v) {
        if (ground_.values[v].type != Value::Type::wire || lows_[v] >= high[v]) continue;
        if (past[v] != 0) {
          lows_[v] = now[v] + 1;
        } else {
          high[v] = now[v];
        }
      }
      note_why(now, trial);
    }
  }

  // Values of wires that a bundle of theirs may have made too hot while its other wires were small.
  void mates() {
    std::set<std::size_t> doubted;
    std::map<std::size_t, std::vector<std::size_t>> bundles_of;  // by value
    const Trial& trial = try_(within(top_));
    const Loom& loom = *trial.corners.front().loom;
    const Lookup lookup(loom, ground_.values);
    for (std::size_t w = 0; w < loom.wires.size(); ++w) {
      const auto v = lookup.wire(w);
      if (!v || loom.wires[w].bundles.empty()) continue;
      for (const BundleIndex b : loom.wires[w].bundles) bundles_of[*v].push_back(b.value);
      if (lows_[*v] > 0 && why_[*v].rule == "wire-heat") doubted.insert(*v);
    }
    for (int pass = 0; pass < most_passes && !doubted.empty(); ++pass) {
      Choice now = within(top_);
      std::set<std::size_t> busy;
      std::vector<std::size_t> tried;
      for (const std::size_t v : doubted) {
        const auto& own = bundles_of[v];
        if (std::any_of(own.begin(), own.end(), [&](std::size_t b) { return busy.contains(b); })) continue;
        busy.insert(own.begin(), own.end());
        now[v] = lows_[v] - 1;
        tried.push_back(v);
      }
      const std::vector<char> past = values_past(try_(now));
      for (const std::size_t v : tried) {
        if (past[v] != 0 || --lows_[v] == 0) doubted.erase(v);
      }
    }
    for (const std::size_t v : doubted) lows_[v] = 0;  // not proved within the passes
  }

  const Ground& ground_;
  const TryChoice& try_;
  Choice top_, lows_;
  std::vector<Reason> why_;
  std::vector<std::vector<Literal>> given_;  // what the reason takes for granted: the fuse at its lower end
};

}  // namespace

LowerEnds lower_ends(const Ground& ground, const TryChoice& attempt) {
  return Finder(ground, attempt).find();
}

}  // namespace loomproof
