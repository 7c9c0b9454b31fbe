// The discrete choice against trying everything, on random problems.
#include <cmath>
#include <random>

#include <doctest/doctest.h>

#include "size/problem.h"
#include "size/ranges.h"

using namespace loomproof;

namespace {

Problem random_problem(unsigned seed) {
  std::mt19937 random(seed);
  const auto pick = [&](std::size_t below) { return static_cast<std::size_t>(random() % below); };
  Problem problem;
  const std::size_t values = 3 + pick(3);
  for (std::size_t v = 0; v < values; ++v) {
    std::vector<double> cost{0.1};
    for (std::size_t o = 1 + pick(4); o > 0; --o)
      cost.push_back(cost.back() * (1.1 + 0.1 * static_cast<double>(pick(10))));
    problem.cost.push_back(cost);
  }
  for (std::size_t b = pick(3) + 1; b > 0; --b) {
    Budget budget;
    double least = 0, most = 0;
    for (std::size_t v = 0; v < values; ++v) {
      if (pick(3) == 0) continue;
      std::vector<double> takes;
      for (std::size_t o = 0; o < problem.cost[v].size(); ++o)
        takes.push_back((0.5 + 0.1 * static_cast<double>(pick(10))) / (1.0 + static_cast<double>(o)));
      std::sort(takes.rbegin(), takes.rend());
      least += takes.back();
      most += takes.front();
      budget.terms.push_back({v, takes});
    }
    if (budget.terms.empty()) continue;
    budget.most = least * 0.95 + (most - least * 0.95) * 0.1 * static_cast<double>(pick(11));
    problem.budgets.push_back(budget);
  }
  for (std::size_t c = pick(3); c > 0; --c) {
    Clause clause;
    if (pick(2) == 0) clause.given.push_back({pick(values), 1});
    clause.any.push_back({pick(values), 1 + pick(3)});
    if (pick(2) == 0) clause.any.push_back({pick(values), 1 + pick(2)});
    problem.clauses.push_back(clause);
  }
  return problem;
}

double by_trying(const Problem& problem) {
  Choice x(problem.cost.size(), 0);
  double best = INFINITY;
  for (;;) {
    bool holds = true;
    for (const Clause& c : problem.clauses) holds = holds && satisfies(c, x);
    for (const Budget& b : problem.budgets) holds = holds && satisfies(b, x);
    double cost = 0;
    for (std::size_t v = 0; v < x.size(); ++v) cost += problem.cost[v][x[v]];
    if (holds) best = std::min(best, cost);
    std::size_t v = 0;
    while (v < x.size() && ++x[v] == problem.cost[v].size()) x[v++] = 0;
    if (v == x.size()) return best;
  }
}

}  // namespace

TEST_CASE("2000 random problems: the cheapest is the one found by trying everything") {
  int unsolvable = 0;
  for (unsigned seed = 0; seed < 2000; seed += every(5)) {
    CAPTURE(seed);
    const Problem problem = random_problem(seed);
    const double best = by_trying(problem);
    const Answer answer = cheapest(problem);
    if (std::isinf(best)) {
      CHECK_FALSE(answer.choice);
      CHECK(std::isinf(answer.bound));
      ++unsolvable;
      continue;
    }
    REQUIRE(answer.choice);
    CHECK(answer.cost == doctest::Approx(best).epsilon(2e-5));
    CHECK(answer.bound <= best * (1 + 2e-5));
    for (const Clause& c : problem.clauses) CHECK(satisfies(c, *answer.choice));
    for (const Budget& b : problem.budgets) CHECK(satisfies(b, *answer.choice));
  }
  CHECK(unsolvable > 20 / static_cast<int>(every(5)));
  CHECK(unsolvable < 1500);
}

TEST_CASE("without nodes to spend the bound still holds") {
  for (unsigned seed = 0; seed < 200; ++seed) {
    CAPTURE(seed);
    const Problem problem = random_problem(seed);
    const double best = by_trying(problem);
    const Answer answer = cheapest(problem, 0);
    if (std::isfinite(best)) CHECK(answer.bound <= best * (1 + 2e-5));
  }
}
