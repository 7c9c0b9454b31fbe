// Bounds propagation: a clause with one literal left sets it; a budget refuses options that take more than is left.
#include "size/ranges.h"

#include <algorithm>

namespace loomproof {
namespace {

constexpr double slack_v = 1e-12;

double least_taken(const Budget::Term& term, const Ranges& r) {
  const auto first = term.takes.begin() + static_cast<std::ptrdiff_t>(r.low[term.value]);
  const auto last = term.takes.begin() + static_cast<std::ptrdiff_t>(r.high[term.value]) + 1;
  return *std::min_element(first, last);
}

struct Step {
  bool moved = false;
  bool failed = false;
  std::size_t emptied = 0;

  bool raise(Ranges& r, std::size_t value, std::size_t least) {
    if (r.low[value] >= least) return true;
    moved = true;
    r.low[value] = least;
    return check(r, value);
  }
  bool lower(Ranges& r, std::size_t value, std::size_t above) {  // value < above
    if (r.high[value] < above) return true;
    if (above == 0) return fail(value);
    moved = true;
    r.high[value] = above - 1;
    return check(r, value);
  }
  bool check(const Ranges& r, std::size_t value) { return r.low[value] <= r.high[value] || fail(value); }
  bool fail(std::size_t value) {
    failed = true;
    emptied = value;
    return false;
  }
};

bool follow(const Clause& clause, Ranges& r, Step& step) {
  const Literal* open_given = nullptr;
  for (const Literal& g : clause.given) {
    if (r.high[g.value] < g.least) return true;
    if (r.low[g.value] >= g.least) continue;
    if (open_given) return true;
    open_given = &g;
  }
  const Literal* open_any = nullptr;
  for (const Literal& a : clause.any) {
    if (r.low[a.value] >= a.least) return true;
    if (r.high[a.value] < a.least) continue;
    if (open_any) return true;
    open_any = &a;
  }
  if (open_given && open_any) return true;
  if (open_given) return step.lower(r, open_given->value, open_given->least);
  if (open_any) return step.raise(r, open_any->value, open_any->least);
  return step.fail(clause.any.empty() ? clause.given.empty() ? 0 : clause.given.front().value
                                      : clause.any.front().value);
}

bool follow(const Budget& budget, Ranges& r, Step& step) {
  double least = 0;
  for (const Budget::Term& term : budget.terms) least += least_taken(term, r);
  const double left = budget.most + slack_v - least;
  if (left < 0) return step.fail(budget.terms.empty() ? 0 : budget.terms.front().value);
  for (const Budget::Term& term : budget.terms) {
    const double most = least_taken(term, r) + left;
    std::size_t low = r.low[term.value];
    while (term.takes[low] > most && low < r.high[term.value]) ++low;
    if (!step.raise(r, term.value, low)) return false;
    std::size_t high = r.high[term.value];
    while (term.takes[high] > most && high > low) --high;
    if (!step.lower(r, term.value, high + 1)) return false;
  }
  return true;
}

}  // namespace

Ranges whole_ranges(const Problem& problem) {
  Ranges r;
  for (const auto& cost : problem.cost) {
    r.low.push_back(0);
    r.high.push_back(cost.size() - 1);
  }
  return r;
}

bool narrow(const Problem& problem, const std::vector<std::size_t>& clauses, const std::vector<std::size_t>& budgets,
            Ranges& r, std::size_t* emptied) {
  Step step;
  do {
    step.moved = false;
    for (const std::size_t c : clauses) {
      if (!follow(problem.clauses[c], r, step)) break;
    }
    for (const std::size_t b : budgets) {
      if (step.failed || !follow(problem.budgets[b], r, step)) break;
    }
  } while (step.moved && !step.failed);
  if (step.failed && emptied) *emptied = step.emptied;
  return !step.failed;
}

bool satisfies(const Clause& clause, const Choice& x) {
  const auto met = [&](const Literal& l) { return x[l.value] >= l.least; };
  return !std::all_of(clause.given.begin(), clause.given.end(), met) ||
         std::any_of(clause.any.begin(), clause.any.end(), met);
}

double taken(const Budget& budget, const Choice& x) {
  double sum = 0;
  for (const Budget::Term& term : budget.terms) sum += term.takes[x[term.value]];
  return sum;
}

bool satisfies(const Budget& budget, const Choice& x) {
  return taken(budget, x) <= budget.most + slack_v;
}

}  // namespace loomproof
