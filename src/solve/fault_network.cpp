// One island for the whole circuit, of which a fault opens or lays a link and a settling moves a few.
#include "solve/fault_network.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numeric>
#include <utility>

#include "model/time_limit.h"
#include "solve/linear_network.h"
#include "solve/settling_limits.h"

namespace loomproof {
namespace {

constexpr int most_fuse_rounds = 12;
constexpr double never_v = 1e9;
constexpr double settled_share = 1e-7;  // far below what a threshold is known to

}  // namespace

FaultNetwork::FaultNetwork(const Circuit& circuit, const std::vector<Fault>& faults)
    : loom_(*circuit.loom),
      circuit_(circuit),
      given_(circuit.loom->elements),
      lines_((circuit_.loom = &loom_, lay_fault_lines(circuit_, faults))),
      laws_(circuit_, settled_share),
      logic_(circuit_),
      island_(laid_island()),
      blocks_(circuit_, lines_) {
  const Elements& all = loom_.elements;
  open_.assign(lines_.all.size(), 0);
  held_contact_.assign(all.contacts.size(), -1);
  for (std::size_t i = 0; i < circuit_.branches.size(); ++i) {
    const Branch& b = circuit_.branches[i];
    if (is_active(circuit_, b)) actives_.push_back({.line = i});
    if (b.type == BranchType::converter_out) {
      // Behind its output, since what it takes in follows what it gives.
      std::swap(actives_[actives_.size() - 2], actives_[actives_.size() - 1]);
      actives_.back().input = actives_.size() - 1;
    }
    if (b.type == BranchType::contact) contacts_.push_back({i, b.index, 1 / b.ohm});
    if (is_divider(b)) dividers_.push_back(i);
  }
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (all.loads[i].form == Load::Form::power) powers_.push_back(i);
  }
  is_idle_.assign(lines_.all.size(), 0);
  for (std::size_t i = 0; i < given_.inputs.size(); ++i) {
    const Input& input = given_.inputs[i];
    if (input.analogue || !input.on_above_v || !input.off_below_v || *input.off_below_v >= *input.on_above_v) continue;
    digital_inputs_.push_back(i);
  }
  for (std::size_t l = 0; l < lines_.all.size(); ++l) {
    if (!lines_.is_bridge(l)) island_.set_conductance(l, line_conductance(l));
  }
  point_.node_v.assign(circuit_.nodes, 0);
  point_.piece.assign(circuit_.nodes, 0);
  Situation nowhere;
  nowhere.positions.assign(loom_.parts.size(), 0);
  begin(nowhere);
  logic_.rest(point_, point_.logic);
}

void FaultNetwork::begin(const Situation& situation) {
  for (std::size_t i : blown_) close_line(lines_.fuse[i]);
  blown_.clear();
  const Elements& all = loom_.elements;
  point_.trouble.clear();
  point_.situation.positions = situation.positions;
  point_.situation.charge = situation.charge;
  if (fault_ != nullptr && fault_->type == FaultType::switch_stuck)
    point_.situation.positions[fault_->index] = static_cast<std::int8_t>(fault_->position);
  for (std::size_t i : dividers_) {
    if (open_[i] == 0) island_.set_conductance(i, laws_.conductance(circuit_.branches[i], point_));
  }
  point_.source_a.assign(all.sources.size(), 0);
  point_.load_a.assign(all.loads.size(), 0);
  point_.converter_in_a.assign(all.converters.size(), 0);
  point_.converter_out_a.assign(all.converters.size(), 0);
  point_.diode_a.assign(all.diodes.size(), 0);
  // Of whatever was settled before nothing is seen.
  for (const Converter& c : all.converters)
    point_.node_v[circuit_.node(c.out_pos)] = point_.node_v[circuit_.node(c.out_neg)] = 0;
  forget_point();
}

// The island's next solution is written out whole, and every active branch looks at it.
void FaultNetwork::forget_point() {
  recalled_ = false;
  unseen_ = true;
  for (Active& a : actives_) a.moved = true;
}

void FaultNetwork::close_contacts() {
  for (const ContactLine& c : contacts_)
    island_.set_conductance(c.line, point_.logic.contact_closed[c.contact] != 0 ? c.siemens : 0);
}

void FaultNetwork::move_actives() {
  for (const Active& a : actives_) {
    if (!a.moved) continue;
    const Branch& b = circuit_.branches[a.line];
    island_.set_conductance(a.line, laws_.conductance(b, point_));
    island_.set_push(a.line, laws_.injection(b, point_));
  }
}

bool FaultNetwork::solve_linear() {
  const bool unseen = std::exchange(unseen_, false);
  if (!island_.solve() && !unseen) return false;
  const std::vector<int>& nodes = island_.nodes();
  for (int i : island_.solved_steps()) point_.node_v[nodes[i]] = island_.v()[i];
  if (island_.pieces_moved() || unseen) {
    for (std::size_t i = 0; i < nodes.size(); ++i) point_.piece[nodes[i]] = nodes[island_.ground(static_cast<int>(i))];
  }
  return true;
}

// What the logic looks at, once the currents have settled.
void FaultNetwork::show_watched() {
  if (!island_.solve_watched()) return;
  const std::vector<int>& nodes = island_.nodes();
  for (auto i = static_cast<std::size_t>(island_.first_watched()); i < nodes.size(); ++i)
    point_.node_v[nodes[i]] = island_.v()[i];
}

void FaultNetwork::show_rest() {
  if (recalled_) return;
  island_.solve_rest();
  const auto rest = static_cast<std::size_t>(island_.first_watched());
  for (std::size_t i = 0; i < rest; ++i) point_.node_v[island_.nodes()[i]] = island_.v()[i];
}

// One that has come to rest and sees what it saw stays as it is. What a converter takes in follows what it gives.
bool FaultNetwork::look_at(Active& a) {
  const FaultLine& line = lines_.all[a.line];
  const bool path = has_path(line);
  const double v = across(line);
  const bool follows = a.input != 0 && actives_[a.input - 1].moved;
  if (!a.moved && !follows && v == a.seen_v && path == a.seen_path) return false;
  a.seen_v = v;
  a.seen_path = path;
  return laws_.update(circuit_.branches[a.line], point_);
}

void FaultNetwork::solve_nonlinear() {
  for (int i = 0; i < most_iterations; ++i) {
    move_actives();
    const bool solved = solve_linear();
    bool moved = false;
    for (Active& a : actives_) {
      a.moved = (solved || a.moved) && look_at(a);
      moved |= a.moved;
    }
    if (moved) continue;
    for (Active& a : actives_) {
      if (open_[a.line] != 0 || !laws_.starve_cut_off(circuit_.branches[a.line], point_)) continue;
      a.moved = moved = true;
    }
    if (!moved) return;
  }
  point_.trouble = "the network did not settle";
}

// All that a solution hangs on: what conducts and what pushes. Of the currents of constant powers only whether they
// run: what settled is settled to far below what a threshold is known to, wherever it began. Of the contacts those that
// may carry a current; a diode looks at the voltage between what nothing joins, and there all of them count. A fault
// that only holds contacts, or lays a bridge that carries nothing, leaves solutions that another one may meet as well.
void FaultNetwork::write_key() {
  bool bridge_carries = bridge_ != 0;
  if (given_.diodes.empty()) {
    const FaultLine& bridge = lines_.all[bridge_];
    const int a = bridge_ != 0 ? bridge.a : 0;
    bridge_carries = blocks_.find(point_.logic, a, bridge_ != 0 ? bridge.b : a, carries_);
  } else {
    carries_ = point_.logic.contact_closed;
  }
  if (bridge_ != 0) is_idle_[bridge_] = bridge_carries ? 0 : 1;
  memo_ = alters_circuit_ || bridge_carries || !blown_.empty() ? &fault_memo_ : &own_memo_;
  RecordMemo& memo = *memo_;
  const BranchLaws::State& laws = laws_.state();
  memo.begin_key();
  memo.add(static_cast<std::uint8_t>(point_.situation.charge));
  memo.add(carries_);
  memo.add(point_.logic.source_on);
  memo.add(point_.logic.converter_on);
  memo.add(laws.source_mode);
  memo.add(laws.out_mode);
  memo.add(laws.diode_on);
  memo.add(laws.in_low);
  for (std::size_t i : powers_) memo.add(laws.load_low[i]);
  for (std::size_t i : dividers_) {
    const std::size_t part = loom_.elements.dividers[circuit_.branches[i].index].part.value;
    memo.add(static_cast<std::uint8_t>(point_.situation.positions[part]));
  }
  is_blown_.assign(given_.fuses.size(), 0);
  for (std::size_t i : blown_) is_blown_[i] = 1;
  memo.add(is_blown_);
}

// A record: the currents, what the active branches conduct and push, the voltages, and then the modes.
bool FaultNetwork::recall() {
  const std::uint64_t* record = memo_->find();
  if (record == nullptr) return false;
  const double* numbers = reinterpret_cast<const double*>(record);
  const std::uint8_t* modes = reinterpret_cast<const std::uint8_t*>(record + numbers_each_);
  laws_.resume(modes, numbers);
  for (auto* list :
       {&point_.source_a, &point_.load_a, &point_.converter_in_a, &point_.converter_out_a, &point_.diode_a})
    for (double& amps : *list) amps = *numbers++;
  for (const Active& a : actives_) {
    island_.set_conductance(a.line, *numbers++);
    island_.set_push(a.line, *numbers++);
  }
  close_contacts();
  for (const ContactLine& c : contacts_) is_idle_[c.line] = carries_[c.contact] != 0 ? 0 : 1;
  island_.carry_over(numbers, is_idle_, point_.node_v, point_.piece);
  recalled_ = true;
  ++recalls_;
  return true;
}

void FaultNetwork::keep() {
  modes_.clear();
  numbers_.clear();
  laws_.save(modes_, numbers_);
  for (const auto* list :
       {&point_.source_a, &point_.load_a, &point_.converter_in_a, &point_.converter_out_a, &point_.diode_a})
    numbers_.insert(numbers_.end(), list->begin(), list->end());
  for (const Active& a : actives_) {
    numbers_.push_back(island_.conductance(a.line));
    numbers_.push_back(island_.push(a.line));
  }
  numbers_.insert(numbers_.end(), point_.node_v.begin(), point_.node_v.end());
  numbers_each_ = numbers_.size();
  std::uint64_t* const record = memo_->keep(numbers_each_ + (modes_.size() + 7) / 8);
  std::memcpy(record, numbers_.data(), numbers_.size() * sizeof numbers_[0]);
  std::memcpy(record + numbers_each_, modes_.data(), modes_.size());
}

void FaultNetwork::add_base(const FaultNetwork& base) {
  own_memo_.add_base(base.own_memo_);
  blocks_.add_base(base.blocks_);
  numbers_each_ = base.numbers_each_;
}

// One state of the logic: from memory, or solved and kept there.
void FaultNetwork::settle_step() {
  if (!forgets_) {
    write_key();
    if (recall()) return;
  }
  if (recalled_) forget_point();
  close_contacts();
  solve_nonlinear();
  show_watched();
  if (forgets_ || !point_.trouble.empty()) return;
  show_rest();
  keep();
}

// With `moved`, the first state need not answer to the switches.
void FaultNetwork::settle_logic(bool moved) {
  cycle_.clear();
  for (std::size_t step = 0;; ++step) {
    laws_.thaw();
    settle_step();
    if (!point_.trouble.empty()) return;
    logic_.next(point_, next_, moved && step == 0);
    if (next_ == point_.logic) return;
    const auto end = seen_.begin() + static_cast<std::ptrdiff_t>(step);
    const auto found = std::find(seen_.begin(), end, next_);
    if (found != end) {
      cycle_.assign(found, end);
      cycle_.push_back(point_.logic);
      point_.trouble = "chatters: " + changes_between(loom_, point_.logic, next_);
      return;
    }
    if (step + 1 == most_logic_steps) {
      point_.trouble = "the switching did not come to rest";
      return;
    }
    if (seen_.size() == step) seen_.emplace_back();
    seen_[step] = point_.logic;
    std::swap(point_.logic, next_);
    laws_.follow(next_, point_.logic);
    for (Active& a : actives_) a.moved = is_switched(circuit_.branches[a.line], next_, point_.logic);
  }
}

// A source's limit of exactly that many times is common: rounding must not decide.
bool FaultNetwork::overloads(std::size_t fuse) const {
  const std::size_t l = lines_.fuse[fuse];
  if (open_[l] != 0 || !given_.fuses[fuse].rated_a) return false;
  const double opens_a = (1 - 1e-6) * fuse_opens_at * *given_.fuses[fuse].rated_a;
  return std::fabs(across(lines_.all[l])) / lines_.all[l].ohm >= opens_a;
}

bool FaultNetwork::blow_fuses() {
  std::vector<std::size_t> now;
  for (std::size_t i = 0; i < given_.fuses.size(); ++i) {
    if (overloads(i)) now.push_back(i);
  }
  for (std::size_t i : now) open_line(lines_.fuse[i]);
  blown_.insert(blown_.end(), now.begin(), now.end());
  return !now.empty();
}

// A short through a fuse ends with the fuse; with no fault in it the circuit is what the fuse rules judge.
const OperatingPoint& FaultNetwork::settle(bool moved) {
  for (int round = 0;; ++round) {
    settle_logic(moved && round == 0);
    show_rest();
    if (fault_ == nullptr || round == most_fuse_rounds || !blow_fuses()) return point_;
    point_.trouble.clear();
  }
}

const OperatingPoint& FaultNetwork::settle_from_rest(const Situation& situation, const Modes* guess) {
  go_on();
  begin(situation);
  logic_.rest(point_, point_.logic);
  laws_.start();
  if (guess != nullptr) {
    for (const Active& a : actives_) {
      const Branch& b = circuit_.branches[a.line];
      const bool is_steady = b.type == BranchType::source || b.type == BranchType::diode ||
                             (b.type == BranchType::load && loom_.elements.loads[b.index].form != Load::Form::power);
      if (is_steady) laws_.adopt(b, guess->laws);
    }
    laws_.set_hints(&guess->laws);
    LogicState dark = point_.logic;
    std::fill(dark.source_on.begin(), dark.source_on.end(), std::uint8_t{1});
    laws_.follow(dark, point_.logic);
  }
  settle(false);
  laws_.set_hints(nullptr);
  return point_;
}

const OperatingPoint& FaultNetwork::settle_from(const Situation& situation, const LogicState& logic, const Modes& modes,
                                                const std::vector<double>& node_v, const std::vector<int>& piece) {
  go_on();
  begin(situation);
  laws_.set_state(modes.laws);
  point_.converter_out_a = modes.out_a;
  before_.situation = point_.situation;
  before_.logic = logic;
  before_.node_v = node_v;
  before_.piece = piece;
  logic_.next(before_, point_.logic, true);
  return settle(false);
}

const OperatingPoint& FaultNetwork::settle_from(const Situation& situation, const LogicState& logic,
                                                const Modes& modes) {
  go_on();
  begin(situation);
  laws_.set_state(modes.laws);
  point_.converter_out_a = modes.out_a;
  point_.logic = logic;
  logic_.force(point_.logic);
  return settle(fault_ == nullptr || fault_->type == FaultType::switch_stuck);
}

const OperatingPoint& FaultNetwork::settle_again() {
  point_.trouble.clear();
  return settle(false);
}

const OperatingPoint& FaultNetwork::hold(const LogicState& logic) {
  point_.trouble.clear();
  point_.logic = logic;
  forget_point();
  laws_.thaw();
  settle_step();
  show_rest();
  return point_;
}

std::vector<std::size_t> FaultNetwork::undefined_inputs() const {
  std::vector<std::size_t> out;
  for (std::size_t i : digital_inputs_) {
    const Input& input = given_.inputs[i];
    const int a = circuit_.node(input.terminal), b = circuit_.node(input.reference);
    if (point_.piece[a] != point_.piece[b]) continue;
    const double v = point_.node_v[a] - point_.node_v[b];
    if (v > *input.off_below_v && v < *input.on_above_v) out.push_back(i);
  }
  return out;
}

void FaultNetwork::force_input(std::size_t i, bool asserted) {
  Input& input = loom_.elements.inputs[i];
  const bool high = asserted == input.active_high;
  input.on_above_v.value = high ? -never_v : 2 * never_v;
  input.off_below_v.value = high ? -2 * never_v : never_v;
}

void FaultNetwork::free_input(std::size_t i) {
  loom_.elements.inputs[i].on_above_v.value = given_.inputs[i].on_above_v.value;
  loom_.elements.inputs[i].off_below_v.value = given_.inputs[i].off_below_v.value;
}

double FaultNetwork::current_a(std::size_t branch) const {
  const Branch& b = circuit_.branches[branch];
  switch (b.type) {
    case BranchType::source:
      return -point_.source_a[b.index];
    case BranchType::converter_out:
      return -point_.converter_out_a[b.index];
    case BranchType::converter_in:
      return point_.converter_in_a[b.index];
    case BranchType::diode:
      return point_.diode_a[b.index];
    case BranchType::load:
      if (loom_.elements.loads[b.index].form != Load::Form::resistive) return point_.load_a[b.index];
      [[fallthrough]];
    default:
      return open_[branch] != 0 || !has_path(lines_.all[branch])
                 ? 0
                 : across(lines_.all[branch]) * island_.conductance(branch);
  }
}

}  // namespace loomproof
