// Deletion: a constraint without which the problem stays unsolvable is none of the facts.
#include "size/conflict.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace loomproof {
namespace {

constexpr std::size_t nodes_for_proof = 300;

bool contradicts(const Problem& problem) {
  if (!forced_lows(problem)) return true;
  const Answer answer = cheapest(problem, nodes_for_proof);
  return !answer.choice && std::isinf(answer.bound);
}

// The same with one more, endless option at the top of a value: holds when the stock is what bounds it.
Problem with_larger(const Problem& problem, std::size_t value) {
  Problem wider = problem;
  wider.cost[value].push_back(wider.cost[value].back() + 1);
  for (Budget& budget : wider.budgets) {
    for (Budget::Term& term : budget.terms) {
      if (term.value == value) term.takes.push_back(0);
    }
  }
  return wider;
}

}  // namespace

std::vector<Reason> facts_in_conflict(const Problem& problem, const std::vector<Value>& values) {
  Problem core = problem;
  const auto drop = [&core](auto member) {
    for (std::size_t i = (core.*member).size(); i-- > 0;) {
      Problem without = core;
      (without.*member).erase((without.*member).begin() + static_cast<std::ptrdiff_t>(i));
      if (contradicts(without)) core = std::move(without);
    }
  };
  drop(&Problem::budgets);
  drop(&Problem::clauses);
  std::vector<Reason> facts;
  std::set<std::size_t> involved;
  for (const Clause& clause : core.clauses) {
    facts.push_back(clause.why);
    for (const Literal& l : clause.any) involved.insert(l.value);
  }
  for (const Budget& budget : core.budgets) {
    facts.push_back(budget.why);
    for (const Budget::Term& term : budget.terms) involved.insert(term.value);
  }
  std::set<std::string> said;
  for (const std::size_t v : involved) {
    if (contradicts(with_larger(core, v)) && core.budgets.empty()) continue;
    if (said.insert(values[v].domain).second) facts.push_back({values[v].domain, values[v].slot().at, ""});
  }
  std::stable_sort(facts.begin(), facts.end(), [](const Reason& a, const Reason& b) { return a.at < b.at; });
  const auto same = [](const Reason& a, const Reason& b) { return a.text == b.text; };
  facts.erase(std::unique(facts.begin(), facts.end(), same), facts.end());
  return facts;
}

}  // namespace loomproof
