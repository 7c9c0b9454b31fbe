// Branch and bound over the parts of a problem that share no constraint.
#include "size/problem.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <queue>

#include "size/ranges.h"

namespace loomproof {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double exactness = 1e-5;

struct Piece {
  std::vector<std::size_t> values, clauses, budgets;
};

std::vector<Piece> pieces_of(const Problem& problem) {
  std::vector<std::size_t> top(problem.cost.size());
  std::iota(top.begin(), top.end(), std::size_t{0});
  const auto find = [&](std::size_t v) {
    while (top[v] != v) v = top[v] = top[top[v]];
    return v;
  };
  const auto first_of = [](const Clause& c) { return c.given.empty() ? c.any.front().value : c.given.front().value; };
  for (const Clause& c : problem.clauses) {
    for (const auto* side : {&c.given, &c.any}) {
      for (const Literal& l : *side) top[find(l.value)] = find(first_of(c));
    }
  }
  for (const Budget& b : problem.budgets) {
    for (const Budget::Term& term : b.terms) top[find(term.value)] = find(b.terms.front().value);
  }
  std::vector<Piece> by_top(problem.cost.size());
  for (std::size_t v = 0; v < top.size(); ++v) by_top[find(v)].values.push_back(v);
  for (std::size_t c = 0; c < problem.clauses.size(); ++c) {
    by_top[find(first_of(problem.clauses[c]))].clauses.push_back(c);
  }
  for (std::size_t b = 0; b < problem.budgets.size(); ++b) {
    by_top[find(problem.budgets[b].terms.front().value)].budgets.push_back(b);
  }
  std::erase_if(by_top, [](const Piece& p) { return p.values.empty(); });
  return by_top;
}

class Search {
 public:
  Search(const Problem& problem, const Piece& piece, const Ranges& start)
      : problem_(problem), piece_(piece), whole_(start), x_(start.low), terms_(problem.cost.size()) {
    for (std::size_t k = 0; k < piece.budgets.size(); ++k) {
      for (const Budget::Term& term : problem.budgets[piece.budgets[k]].terms)
        terms_[term.value].push_back({k, &term.takes});
    }
  }

  /// Cost and bound of this piece; the best choice stands in best().
  std::pair<double, double> run(std::size_t most_nodes) {
    Node root{whole_, std::vector<double>(piece_.budgets.size(), 0), -infinite};
    if (!narrow(problem_, piece_.clauses, piece_.budgets, root.ranges)) return {infinite, infinite};
    relax(root, 120);
    open_.push(std::move(root));
    for (std::size_t nodes = 0; !open_.empty(); ++nodes) {
      if (is_beaten(open_.top().bound)) break;
      if (nodes >= most_nodes) return {best_cost_, open_.top().bound};
      const Node node = open_.top();
      open_.pop();
      expand(node);
    }
    return {best_cost_, best_cost_};
  }

  const Choice& best() const { return best_; }

 private:
  struct Node {
    Ranges ranges;
    std::vector<double> price;  // Lagrange multiplier by budget
    double bound;
    bool operator<(const Node& other) const { return bound > other.bound; }
  };
  struct TermOf {
    std::size_t budget;
    const std::vector<double>* takes;
  };

  bool is_beaten(double bound) const { return bound >= best_cost_ * (1 - exactness) - 1e-12; }

  // Cheapest options at the multipliers, left in x_; the relaxed cost.
  double priced(const Node& node) {
    double sum = 0;
    for (const std::size_t v : piece_.values) {
      double least = infinite;
      for (std::size_t o = node.ranges.low[v]; o <= node.ranges.high[v]; ++o) {
        double cost = problem_.cost[v][o];
        for (const TermOf& t : terms_[v]) cost += node.price[t.budget] * (*t.takes)[o];
        if (cost < least) {
          least = cost;
          x_[v] = o;
        }
      }
      sum += least;
    }
    for (std::size_t k = 0; k < piece_.budgets.size(); ++k) sum -= node.price[k] * budget(k).most;
    return sum;
  }

  const Budget& budget(std::size_t k) const { return problem_.budgets[piece_.budgets[k]]; }

  // Subgradient ascent; keeps the best multipliers in the node and offers every relaxed choice, repaired.
  void relax(Node& node, int steps) {
    Node tried = node;
    double pace = 1;
    node.bound = std::max(node.bound, -infinite);
    for (int i = 0; i < steps; ++i) {
      const double sum = priced(tried);
      if (sum > node.bound) {
        node.bound = sum;
        node.price = tried.price;
      } else {
        pace *= 0.9;
      }
      if (i % 8 == 0) offer_repaired(node.ranges);
      if (piece_.budgets.empty() || is_beaten(node.bound)) break;
      std::vector<double> over;
      double norm = 0;
      for (std::size_t k = 0; k < piece_.budgets.size(); ++k) {
        over.push_back(taken(budget(k), x_) - budget(k).most);
        if (over[k] > 0 || tried.price[k] > 0) norm += over[k] * over[k];
      }
      if (norm <= 0) break;
      const double target = std::isfinite(best_cost_) ? best_cost_ : sum + std::fabs(sum) * 0.1 + 1e-3;
      const double step = pace * std::max(target - sum, 1e-9) / norm;
      for (std::size_t k = 0; k < over.size(); ++k) tried.price[k] = std::max(0.0, tried.price[k] + step * over[k]);
    }
  }

  // Raises the relaxed choice until every constraint holds, then lowers what can be lowered.
  void offer_repaired(const Ranges& ranges) {
    Choice x = x_;
    for (int guard = 0; guard < 2000; ++guard) {
      const std::size_t worst = repair_clauses(x, ranges) ? most_overdrawn(x) : piece_.budgets.size() + 1;
      if (worst == piece_.budgets.size()) break;
      if (worst > piece_.budgets.size() || !raise_best(budget(worst), x, ranges)) return;
    }
    if (!holds(x)) return;
    std::vector<std::size_t> order = piece_.values;
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return problem_.cost[a][x[a]] > problem_.cost[b][x[b]]; });
    for (const std::size_t v : order) {
      while (x[v] > ranges.low[v] && problem_.cost[v][x[v] - 1] < problem_.cost[v][x[v]]) {
        --x[v];
        if (holds_around(x)) continue;
        ++x[v];
        break;
      }
    }
    offer(x);
  }

  bool repair_clauses(Choice& x, const Ranges& ranges) const {
    for (bool again = true; again;) {
      again = false;
      for (const std::size_t c : piece_.clauses) {
        const Clause& clause = problem_.clauses[c];
        if (satisfies(clause, x)) continue;
        const Literal* best = nullptr;
        for (const Literal& l : clause.any) {
          if (ranges.high[l.value] < l.least) continue;
          if (!best || rise(l, x) < rise(*best, x)) best = &l;
        }
        if (!best) return false;
        x[best->value] = best->least;
        again = true;
      }
    }
    return true;
  }

  double rise(const Literal& l, const Choice& x) const {
    return problem_.cost[l.value][l.least] - problem_.cost[l.value][x[l.value]];
  }

  std::size_t most_overdrawn(const Choice& x) const {
    std::size_t worst = piece_.budgets.size();
    double most = 1e-12;
    for (std::size_t k = 0; k < piece_.budgets.size(); ++k) {
      const double over = taken(budget(k), x) - budget(k).most;
      if (over > most) {
        most = over;
        worst = k;
      }
    }
    return worst;
  }

  bool raise_best(const Budget& b, Choice& x, const Ranges& ranges) const {
    double best = infinite;
    Literal step;
    for (const Budget::Term& term : b.terms) {
      const std::size_t now = x[term.value];
      for (std::size_t o = now + 1; o <= ranges.high[term.value]; ++o) {
        const double gain = term.takes[now] - term.takes[o];
        const double per = (problem_.cost[term.value][o] - problem_.cost[term.value][now]) / gain;
        if (gain > 0 && per < best) {
          best = per;
          step = {term.value, o};
        }
      }
    }
    if (!std::isfinite(best)) return false;
    x[step.value] = step.least;
    return true;
  }

  bool holds_around(const Choice& x) const { return holds(x); }

  bool holds(const Choice& x) const {
    return std::all_of(piece_.clauses.begin(), piece_.clauses.end(),
                       [&](std::size_t c) { return satisfies(problem_.clauses[c], x); }) &&
           std::all_of(piece_.budgets.begin(), piece_.budgets.end(),
                       [&](std::size_t b) { return satisfies(problem_.budgets[b], x); });
  }

  void offer(const Choice& x) {
    double cost = 0;
    for (const std::size_t v : piece_.values) cost += problem_.cost[v][x[v]];
    if (cost >= best_cost_) return;
    best_cost_ = cost;
    best_ = x;
  }

  void expand(const Node& node) {
    Node relaxed = node;
    relaxed.bound = node.bound;
    priced(relaxed);
    const auto split = split_of(node.ranges);
    if (!split) return;
    for (const bool above : {true, false}) {
      Node child = node;
      if (above) {
        child.ranges.low[split->value] = split->least;
      } else {
        child.ranges.high[split->value] = split->least - 1;
      }
      if (!narrow(problem_, piece_.clauses, piece_.budgets, child.ranges)) continue;
      relax(child, 16);
      if (!is_beaten(child.bound)) open_.push(std::move(child));
    }
  }

  // Where to part the ranges: at a clause or a budget that the relaxed choice fails, else at the widest range.
  std::optional<Literal> split_of(const Ranges& r) const {
    for (const std::size_t c : piece_.clauses) {
      const Clause& clause = problem_.clauses[c];
      if (satisfies(clause, x_)) continue;
      for (const auto* side : {&clause.any, &clause.given}) {
        for (const Literal& l : *side) {
          if (r.low[l.value] < l.least && r.high[l.value] >= l.least) return l;
        }
      }
    }
    std::optional<Literal> best;
    double widest = -1;
    const auto look = [&](std::size_t v, double width) {
      if (r.low[v] == r.high[v] || width <= widest) return;
      widest = width;
      best = Literal{v, x_[v] < r.high[v] ? x_[v] + 1 : x_[v]};
    };
    const std::size_t worst = most_overdrawn(x_);
    if (worst < piece_.budgets.size()) {
      for (const Budget::Term& t : budget(worst).terms) look(t.value, t.takes[x_[t.value]]);
      if (best) return best;
    }
    for (const std::size_t v : piece_.values) {
      look(v, problem_.cost[v][r.high[v]] - problem_.cost[v][r.low[v]]);
    }
    return best;
  }

  const Problem& problem_;
  const Piece& piece_;
  const Ranges& whole_;
  Choice x_;
  std::vector<std::vector<TermOf>> terms_;  // by value
  std::priority_queue<Node> open_;
  Choice best_;
  double best_cost_ = infinite;
};

std::vector<std::size_t> all_of(std::size_t count) {
  std::vector<std::size_t> out(count);
  std::iota(out.begin(), out.end(), std::size_t{0});
  return out;
}

}  // namespace

std::optional<Choice> forced_lows(const Problem& problem, std::size_t* emptied) {
  Ranges ranges = whole_ranges(problem);
  if (!narrow(problem, all_of(problem.clauses.size()), all_of(problem.budgets.size()), ranges, emptied)) {
    return std::nullopt;
  }
  return ranges.low;
}

Answer cheapest(const Problem& problem, std::size_t most_nodes) {
  Ranges ranges = whole_ranges(problem);
  Answer answer;
  if (!narrow(problem, all_of(problem.clauses.size()), all_of(problem.budgets.size()), ranges)) {
    return {std::nullopt, infinite, infinite};
  }
  Choice choice = ranges.low;
  bool found = true;
  for (const Piece& piece : pieces_of(problem)) {
    Search search(problem, piece, ranges);
    const auto [cost, bound] = search.run(most_nodes);
    answer.cost += cost;
    answer.bound += bound;
    found = found && std::isfinite(cost);
    if (!std::isfinite(cost)) continue;
    for (const std::size_t v : piece.values) choice[v] = search.best()[v];
  }
  if (found) answer.choice = std::move(choice);
  return answer;
}

}  // namespace loomproof
