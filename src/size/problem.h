// The discrete choice that is left once the rules have spoken: cheapest options under what every holding choice must
// satisfy.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "model/place.h"
#include "size/value.h"

namespace loomproof {

/// Why a constraint stands, for a person.
struct Reason {
  std::string text;
  Place at;
  std::string rule;  // slug; empty where no rule but the maker of the part asks for it
};

/// value >= least (as index of its options)
struct Literal {
  std::size_t value = 0;
  std::size_t least = 0;
};

/// Where all of `given` hold, at least one of `any` must; an empty `any` forbids `given`.
struct Clause {
  std::vector<Literal> given;
  std::vector<Literal> any;
  Reason why;
};

/// Sum of what every value's option takes, at most `most`: volts lost on the way to a consumer.
struct Budget {
  struct Term {
    std::size_t value = 0;
    std::vector<double> takes;  // by option
    /// Share of `takes` that every choice within all limits takes at least: other filament lamps fed by the same wire
    /// draw a little less behind smaller wires, so a bound that must be true of every choice counts only this share.
    double sure = 1;
  };
  std::vector<Term> terms;
  double most = 0;
  Reason why;
};

struct Problem {
  std::vector<std::vector<double>> cost;  // by value, by option
  std::vector<Clause> clauses;
  std::vector<Budget> budgets;
};

struct Answer {
  std::optional<Choice> choice;  // the cheapest found; nothing when there is none at all
  double cost = 0;
  double bound = 0;  // no choice that satisfies the constraints costs less
};

/// Branch and bound, best bound first, over independent parts of the problem one by one. Bound: Lagrange relaxation of
/// the budgets, multipliers by subgradient steps. Exact to one part in 1e5 unless `most_nodes` are used up in a part,
/// which leaves bound < cost.
/// @return choice is empty only when the constraints contradict one another, or when none was found within most_nodes
///         (bound is then infinite only in the first case)
Answer cheapest(const Problem&, std::size_t most_nodes = 4000);

/// Lower ends of all values as far as clauses and budgets alone force them.
/// @return nullopt when they contradict one another; `emptied` then names the value that nothing is left of
std::optional<Choice> forced_lows(const Problem&, std::size_t* emptied = nullptr);

}  // namespace loomproof
