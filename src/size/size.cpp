// Constraints are found by trying: the cheapest choice under those known so far is tried, and what it breaks adds to
// them, until nothing is broken. Since every constraint is true of all choices that hold, the first one found is best.
#include "size/size.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <set>

#include "size/conflict.h"
#include "size/edit.h"
#include "size/lookup.h"
#include "size/lower_ends.h"
#include "solve/supply.h"

namespace loomproof {
namespace {

std::string any_text(const Slot& slot) {
  if (slot.of_wire) return "1 mm2";
  if (slot.attribute == "ohms") return "100 ohm";
  if (slot.attribute == "watts") return "1 W";
  if (slot.attribute == "pulse") return "1 J";
  return "1 A";
}

class Sizer {
 public:
  explicit Sizer(const SizeRequest& request) : request_(request) {
    ground_.text = request.text;
    ground_.read = request.read;
    ground_.margin = request.margin;
    ground_.tolerance = request.tolerance;
  }

  SizeResult run() {
    std::set<Place> free;
    for (const Slot& slot : request_.slots) {
      if (slot.is_open()) free.insert(slot.at);
    }
    if (request_.all) add_broken(free, Choice{});
    SizeResult result = run_with(free);
    // A chosen value may bind one that held before: with --all that becomes free too.
    for (int again = 0; request_.all && again < 3 && result.outcome == SizeResult::Outcome::found; ++again) {
      const std::size_t before = free.size();
      if (!result.remaining.empty()) add_broken(free, Choice{});
      if (free.size() == before) break;
      result = run_with(free);
    }
    result.trials = trials_;
    return result;
  }

 private:
  const Trial& attempt(const Choice& choice) {
    const std::string text = ground_.text_with(choice);
    for (const auto& [known, trial] : last_) {
      if (known == text) return trial;
    }
    ++trials_;
    if (last_.size() > 1) last_.pop_front();
    last_.emplace_back(text, try_choice(ground_, choice));
    return last_.back().second;
  }

  std::optional<Loom> filled() const {
    std::vector<Edit> edits;
    std::set<Place> seen;
    for (const Slot& slot : request_.slots) {
      if (slot.is_open() && seen.insert(slot.at).second) edits.push_back({slot.at, slot.written, any_text(slot)});
    }
    const auto text = edited(request_.text, std::move(edits));
    return text ? request_.read(*text) : std::nullopt;
  }

  // Frees every value that has to do with something broken in the file as it is, open values at their largest.
  void add_broken(std::set<Place>& free, const Choice&) {
    const auto loom = filled();
    if (!loom) return;
    ground_.values = values_of(*loom, request_.slots, request_.stock, request_.objective);
    Choice now;
    for (Value& value : ground_.values) {
      if (!value.slot().is_open()) {
        const Dimension dimension = value.type == Value::Type::wire    ? Dimension::area
                                    : value.type == Value::Type::ohms  ? Dimension::resistance
                                    : value.type == Value::Type::watts ? Dimension::power
                                    : value.type == Value::Type::pulse ? Dimension::energy
                                                                       : Dimension::current;
        const auto read = parse_magnitude(value.slot().written, dimension);
        const Option own{value.slot().written, read ? read.value->value : 0, 0};
        const auto after = std::upper_bound(value.options.begin(), value.options.end(), own,
                                            [](const Option& a, const Option& b) { return a.amount < b.amount; });
        now.push_back(static_cast<std::size_t>(after - value.options.begin()));
        value.options.insert(after, own);
      } else {
        if (value.options.empty()) value.options.push_back({any_text(value.slot()), 1, 0});
        now.push_back(value.options.size() - 1);
      }
    }
    const Trial& trial = attempt(now);
    const Causes causes = causes_of(ground_, now, Choice(now.size(), 0), trial);
    for (const Clause& clause : causes.clauses) {
      for (const auto* side : {&clause.given, &clause.any}) {
        for (const Literal& l : *side) free.insert(ground_.values[l.value].slot().at);
      }
    }
    for (const Budget& budget : causes.budgets) {
      for (const Budget::Term& term : budget.terms) free.insert(ground_.values[term.value].slot().at);
    }
  }

  // Resistances are no matter of larger or smaller: they are tried in turn, nearest first to what lets 1 A through.
  SizeResult run_with(const std::set<Place>& free) {
    const auto loom = filled();
    if (!loom) return {};
    std::vector<Slot> slots;
    for (const Slot& slot : request_.slots) {
      if (free.contains(slot.at)) slots.push_back(slot);
    }
    const std::vector<Value> values = values_of(*loom, slots, request_.stock, request_.objective);
    if (values.empty()) return {};
    ground_.values = values;
    double full_v = 0;
    for (const Source& s : loom->elements.sources) {
      if (s.zone == Zone::traction) full_v = std::max(full_v, s.full_v.value.value_or(0));
    }
    std::optional<SizeResult> best;
    constexpr std::size_t most_turns = 6;
    for (std::size_t turn = 0; turn < most_turns; ++turn) {
      ground_.values = values;
      bool more = false;
      for (Value& value : ground_.values) {
        if (value.type != Value::Type::ohms || value.options.empty()) continue;
        std::sort(value.options.begin(), value.options.end(), [&](const Option& a, const Option& b) {
          return std::fabs(std::log(a.amount / full_v)) < std::fabs(std::log(b.amount / full_v));
        });
        more = more || turn + 1 < value.options.size();
        value.options = {value.options[std::min(turn, value.options.size() - 1)]};
      }
      SizeResult result = size_rest();
      const auto rank = [](const SizeResult& r) {
        return r.outcome == SizeResult::Outcome::found ? r.remaining.size() : std::size_t{1'000'000};
      };
      if (!best || rank(result) < rank(*best)) best = std::move(result);
      if (!more || rank(*best) == 0) break;
    }
    return std::move(*best);
  }

  SizeResult size_rest() {
    SizeResult result;
    for (const Value& value : ground_.values) {
      if (!value.options.empty()) continue;
      result.outcome = SizeResult::Outcome::conflict;
      result.facts.push_back({value.domain, value.slot().at, ""});
    }
    if (!result.facts.empty()) return result;
    find_hopeless();
    const LowerEnds ends = lower_ends(ground_, [this](const Choice& c) -> const Trial& { return attempt(c); });
    Problem problem;
    for (const Value& value : ground_.values) {
      auto& cost = problem.cost.emplace_back();
      for (const Option& option : value.options) cost.push_back(option.cost);
    }
    // A fuse is as small as holds, whatever a larger one would save in copper by losing fewer millivolts.
    double most = 1;
    for (const auto& cost : problem.cost) most += *std::max_element(cost.begin(), cost.end());
    for (std::size_t v = 0; v < problem.cost.size(); ++v) {
      if (ground_.values[v].type != Value::Type::fuse) continue;
      for (std::size_t o = ends.lows[v] + 1; o < problem.cost[v].size(); ++o)
        problem.cost[v][o] += most * static_cast<double>(o - ends.lows[v]);
    }
    problem.clauses = ends.clauses;
    return search(std::move(problem), ends.lows);
  }

  // What is broken with every wire at its largest and no value to mend it is no matter of sizes.
  void find_hopeless() {
    ground_.hopeless.clear();
    Choice top;
    for (const Value& value : ground_.values) top.push_back(value.options.size() - 1);
    const Trial& trial = attempt(top);
    for (const Obligation& owed : causes_of(ground_, top, top, trial).beyond)
      ground_.hopeless.insert(Ground::key(owed));
  }

  SizeResult search(Problem problem, const Choice& lows) {
    SizeResult result;
    Answer answer;
    for (std::size_t round = 0; round < request_.most_rounds; ++round) {
      answer = cheapest(problem);
      if (!answer.choice) {
        const bool excluded = std::isinf(answer.bound);
        result.outcome = excluded ? SizeResult::Outcome::conflict : SizeResult::Outcome::gave_up;
        if (excluded) result.facts = facts_in_conflict(problem, ground_.values);
        return result;
      }
      const Trial& trial = attempt(*answer.choice);
      Causes causes = causes_of(ground_, *answer.choice, lows, trial);
      if (causes.none()) return refined(problem, found(*answer.choice, problem, answer, trial), lows);
      add(problem, std::move(causes));
    }
    return repaired(problem, *answer.choice, lows, answer);
  }

  static Problem surely(Problem problem) {
    for (Budget& budget : problem.budgets) {
      for (Budget::Term& term : budget.terms) {
        for (double& takes : term.takes) takes *= term.sure;
      }
    }
    return problem;
  }

  // Lighter choices that only the small change of lamp currents speaks against are tried themselves. Where one loses
  // too many volts, so does every choice that is no larger anywhere on that way.
  SizeResult refined(const Problem& problem, SizeResult best, const Choice& lows) {
    constexpr int most_tries = 12;
    Problem sure = surely(problem);
    for (int i = 0; i < most_tries && !best.proved(); ++i) {
      const Answer answer = cheapest(sure);
      if (!answer.choice) break;
      const Trial& trial = attempt(*answer.choice);
      Causes causes = causes_of(ground_, *answer.choice, lows, trial);
      if (causes.none()) {
        SizeResult lighter = found(*answer.choice, sure, answer, trial);
        return lighter.cost < best.cost ? lighter : best;
      }
      for (const Budget& budget : causes.budgets) {
        Clause larger{{}, {}, budget.why};
        for (const Budget::Term& term : budget.terms)
          larger.any.push_back({term.value, (*answer.choice)[term.value] + 1});
        sure.clauses.push_back(std::move(larger));
      }
      std::move(causes.clauses.begin(), causes.clauses.end(), std::back_inserter(sure.clauses));
      const Answer next = cheapest(sure);
      best.bound = std::max(best.bound, std::min(best.cost, best.cost - (best_rank(problem, best) - next.bound)));
    }
    return best;
  }

  static double best_rank(const Problem& problem, const SizeResult& result) {
    double rank = 0;
    for (std::size_t v = 0; v < result.values.size(); ++v) rank += problem.cost[v][result.values[v].option];
    return rank;
  }

  static void add(Problem& problem, Causes causes) {
    std::move(causes.clauses.begin(), causes.clauses.end(), std::back_inserter(problem.clauses));
    std::move(causes.budgets.begin(), causes.budgets.end(), std::back_inserter(problem.budgets));
  }

  // Past the rounds: raise whatever a trial asks for until it holds; the bound stays that of the constraints found.
  SizeResult repaired(Problem problem, Choice choice, const Choice& lows, const Answer& answer) {
    SizeResult result;
    result.outcome = SizeResult::Outcome::gave_up;
    for (std::size_t round = 0; round < request_.most_rounds; ++round) {
      const Trial& trial = attempt(choice);
      Causes causes = causes_of(ground_, choice, lows, trial);
      if (causes.none()) return found(choice, problem, answer, trial);
      for (const Clause& clause : causes.clauses) {
        for (const Literal& l : clause.any) {
          if (l.least < ground_.values[l.value].options.size()) {
            choice[l.value] = std::max(choice[l.value], l.least);
            break;
          }
        }
      }
      for (const Budget& budget : causes.budgets) {
        for (const Budget::Term& term : budget.terms) {
          const bool larger = choice[term.value] + 1 < ground_.values[term.value].options.size();
          if (larger && ground_.values[term.value].type == Value::Type::wire) ++choice[term.value];
        }
      }
    }
    return result;
  }

  SizeResult found(const Choice& choice, const Problem& problem, const Answer& answer, const Trial& trial) {
    SizeResult result;
    result.outcome = SizeResult::Outcome::found;
    result.text = ground_.text_with(choice);
    double ranked = 0;  // with what larger fuses count
    for (std::size_t v = 0; v < choice.size(); ++v) {
      result.cost += ground_.values[v].options[choice[v]].cost;
      ranked += problem.cost[v][choice[v]];
      result.values.push_back({ground_.values[v], choice[v], why_of(problem, choice, v)});
    }
    double bound = std::min(answer.bound, ranked);
    if (!problem.budgets.empty()) {
      bound = std::min(bound, cheapest(surely(problem)).bound);
    }
    result.bound = std::max(0.0, result.cost - (ranked - bound));
    const Judgement& judgement = trial.corners.front().judgement;
    for (const Obligation& owed : judgement.obligations) {
      if (owed.verdict == Verdict::broken && owed.waived.empty()) result.remaining.push_back(owed);
    }
    result.undecided = judgement.count(Verdict::undecided);
    return result;
  }

  static std::string why_of(const Problem& problem, const Choice& choice, std::size_t v) {
    std::string why;
    for (const Budget& budget : problem.budgets) {
      for (const Budget::Term& term : budget.terms) {
        if (term.value == v && choice[v] > 0) why = budget.why.rule;
      }
    }
    for (const Clause& clause : problem.clauses) {
      for (const Literal& l : clause.any) {
        if (l.value == v && l.least == choice[v]) why = clause.why.rule.empty() ? "precharge branch" : clause.why.rule;
      }
    }
    return why;
  }

  const SizeRequest& request_;
  Ground ground_;
  std::deque<std::pair<std::string, Trial>> last_;
  std::size_t trials_ = 0;
};

}  // namespace

SizeResult size_loom(const SizeRequest& request) {
  return Sizer(request).run();
}

}  // namespace loomproof
