// Verdicts are given once and only ever get worse: no later call turns a danger into a pass.
#include "rules/ledger.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

#include "rules/list.h"

namespace loomproof {
namespace {

// Place in reading order; what a rule left open stands with the undecided.
int rank_of(std::optional<Verdict> verdict) {
  if (verdict == Verdict::broken) return 0;
  return verdict == Verdict::holds ? 2 : 1;
}

double used_of(const std::optional<Figure>& figure) {
  return figure ? figure->used : 0;
}

// Is this decision to be written? A second one counts only when it is worse: a worse verdict, or the same verdict
// with more of the limit used. What was said about the milder one goes.
bool decides(Obligation& owed, Verdict verdict, double used) {
  if (owed.verdict) {
    const int before = rank_of(owed.verdict);
    const int now = rank_of(verdict);
    if (now > before || (now == before && !(used > used_of(owed.figure)))) return false;
    owed.notes.clear();
    owed.mend.clear();
    owed.situation.clear();
    owed.figure.reset();
    owed.what.clear();
    owed.wiring = false;
  }
  owed.verdict = verdict;
  return true;
}

std::string_view slug_of(const Obligation& owed) {
  return owed.rule ? owed.rule->slug : std::string_view{};
}

// An end on which no wire lands is why others find no way on.
bool is_of_ends(const Obligation& owed) {
  return owed.rule && owed.rule->group == Group::terminations;
}

bool is_finding(const Obligation& owed) {
  return owed.verdict == Verdict::broken && !owed.set_aside();
}

// Parts and wires that a finding speaks of: its subject and the names in quotes, without their terminals.
std::set<std::string_view> names_in(const Obligation& owed) {
  const auto part_of = [](std::string_view name) { return name.substr(0, name.find('.')); };
  std::set<std::string_view> out{part_of(owed.subject.name)};
  const std::string_view what = owed.what;
  for (std::size_t open = what.find('\''); open != std::string_view::npos;) {
    const std::size_t close = what.find('\'', open + 1);
    if (close == std::string_view::npos) break;
    out.insert(part_of(what.substr(open + 1, close - open - 1)));
    open = what.find('\'', close + 1);
  }
  return out;
}

// By which weight each stands in reading order: see sort_for_reading.
std::vector<Severity> reading_weights(const std::vector<Obligation>& obligations) {
  std::map<std::string_view, Severity> gravest;
  for (const Obligation& owed : obligations) {
    if (!is_finding(owed)) continue;
    for (std::string_view name : names_in(owed)) {
      const auto [known, fresh] = gravest.try_emplace(name, owed.weight());
      if (!fresh) known->second = std::min(known->second, owed.weight());
    }
  }
  std::vector<Severity> out;
  for (const Obligation& owed : obligations) {
    Severity weight = owed.weight();
    if (owed.wiring && is_finding(owed)) {
      for (std::string_view name : names_in(owed)) weight = std::min(weight, gravest.at(name));
    }
    out.push_back(weight);
  }
  return out;
}

}  // namespace

std::string_view name_of(Severity severity) {
  switch (severity) {
    case Severity::danger:
      return "danger";
    case Severity::damage:
      return "damage";
    case Severity::nuisance:
      return "nuisance";
    case Severity::paperwork:
      return "paperwork";
  }
  return "danger";
}

std::string_view name_of(Group group) {
  switch (group) {
    case Group::conductors:
      return "conductors";
    case Group::protection:
      return "protection";
    case Group::source:
      return "source and charging";
    case Group::inrush:
      return "inrush and contacts";
    case Group::control:
      return "control and interlocks";
    case Group::insulation:
      return "insulation and zones";
    case Group::terminations:
      return "terminations and connectors";
    case Group::low_voltage:
      return "low-voltage supply";
    case Group::completeness:
      return "completeness";
  }
  return "completeness";
}

std::string_view name_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::holds:
      return "holds";
    case Verdict::broken:
      return "broken";
    case Verdict::undecided:
      return "undecided";
  }
  return "undecided";
}

Obligation& Obligation::holds(Figure computed, std::string where) {
  // A figure that is not a number, or past its limit, contradicts the verdict: say so instead of letting it pass.
  constexpr double rounding = 1e-9;
  if (!(computed.used <= 1 + rounding)) {
    return undecided(fmt::format("{} against a limit of {} could not be judged", computed.value, computed.limit),
                     "an error of loomproof itself, not of the file: judge this one by hand and report it");
  }
  if (decides(*this, Verdict::holds, computed.used)) {
    figure = std::move(computed);
    situation = std::move(where);
  }
  return *this;
}

Obligation& Obligation::holds(std::string sentence) {
  if (decides(*this, Verdict::holds, 0)) what = std::move(sentence);
  return *this;
}

Obligation& Obligation::broken(std::string sentence, std::optional<Figure> computed, std::string where) {
  if (decides(*this, Verdict::broken, used_of(computed))) {
    what = std::move(sentence);
    figure = std::move(computed);
    situation = std::move(where);
  }
  return *this;
}

Obligation& Obligation::undecided(std::string sentence, std::string remedy) {
  if (decides(*this, Verdict::undecided, 0)) {
    what = std::move(sentence);
    mend = std::move(remedy);
  }
  return *this;
}

Obligation& Obligation::see(Place at, std::string text) {
  notes.push_back({at, std::move(text)});
  return *this;
}

Obligation& Obligation::note(std::string text) {
  return see({}, std::move(text));
}

Obligation& Obligation::fix(std::string text) {
  mend = std::move(text);
  return *this;
}

Obligation& Obligation::as(Severity own) {
  severity = own;
  return *this;
}

Obligation& Obligation::of_wiring() {
  wiring = verdict == Verdict::broken;
  return *this;
}

Severity Obligation::weight() const {
  if (severity) return *severity;
  return rule ? rule->severity : Severity::danger;
}

void sort_for_reading(std::vector<Obligation>& obligations) {
  const std::vector<Severity> weights = reading_weights(obligations);
  const auto key = [&](std::size_t i) {
    const Obligation& o = obligations[i];
    return std::tuple(rank_of(o.verdict), weights[i], !o.wiring, !(o.wiring && is_of_ends(o)), o.subject.at, slug_of(o),
                      std::string_view(o.subject.name));
  };
  std::vector<std::size_t> order(obligations.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
  std::vector<Obligation> sorted;
  sorted.reserve(obligations.size());
  for (std::size_t i : order) sorted.push_back(std::move(obligations[i]));
  obligations = std::move(sorted);
}

Obligation& Ledger::open(const Rule& rule, Subject subject) {
  Obligation& owed = obligations_.emplace_back();
  owed.rule = &rule;
  owed.subject = std::move(subject);
  return owed;
}

void Ledger::assume(std::string text, Place at) {
  Assumption made{std::move(text), at};
  if (std::find(assumptions_.begin(), assumptions_.end(), made) == assumptions_.end()) {
    assumptions_.push_back(std::move(made));
  }
}

void Ledger::single_point(SinglePoint point) {
  if (std::find(single_points_.begin(), single_points_.end(), point) == single_points_.end()) {
    single_points_.push_back(std::move(point));
  }
}

std::size_t Judgement::count(Verdict verdict) const {
  return static_cast<std::size_t>(std::count_if(obligations.begin(), obligations.end(), [&](const Obligation& o) {
    return o.verdict.value_or(Verdict::undecided) == verdict && !o.set_aside();
  }));
}

std::size_t Judgement::waived() const {
  return static_cast<std::size_t>(
      std::count_if(obligations.begin(), obligations.end(), [](const Obligation& o) { return o.set_aside(); }));
}

std::vector<const Obligation*> Judgement::findings() const {
  std::vector<const Obligation*> found;
  for (const Obligation& owed : obligations) {
    if (owed.verdict != Verdict::holds && !owed.set_aside()) found.push_back(&owed);
  }
  return found;
}

std::vector<const Obligation*> Judgement::closest(std::size_t n) const {
  std::vector<const Obligation*> close;
  for (const Obligation& owed : obligations) {
    if (owed.verdict == Verdict::holds && owed.figure) close.push_back(&owed);
  }
  std::stable_sort(close.begin(), close.end(),
                   [](const Obligation* a, const Obligation* b) { return a->figure->used > b->figure->used; });
  if (close.size() > n) close.resize(n);
  return close;
}

}  // namespace loomproof
