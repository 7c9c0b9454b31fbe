// Which rows of the stock fit what the file says of a wire, a fuse, a contact or a resistor.
#include "size/value.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>

namespace loomproof {
namespace {

// Breaks ties towards the smaller rating; far below a gram of copper or a cent for a whole loom.
constexpr double tie_cost = 1e-7;

const Wire* find_wire(const Loom& loom, const std::string& name) {
  const auto found = std::find_if(loom.wires.begin(), loom.wires.end(), [&](const Wire& w) { return w.name == name; });
  return found == loom.wires.end() ? nullptr : &*found;
}

const Part* find_part(const Loom& loom, const std::string& name) {
  const auto index = loom.find_part(name);
  return index ? &loom.part(*index) : nullptr;
}

Value::Type type_of(const Slot& slot) {
  if (slot.of_wire) return Value::Type::wire;
  if (slot.attribute == "carries") return Value::Type::contact;
  if (slot.attribute == "ohms") return Value::Type::ohms;
  if (slot.attribute == "watts") return Value::Type::watts;
  if (slot.attribute == "pulse") return Value::Type::pulse;
  return Value::Type::fuse;
}

// Adds an option, or makes one of the same amount cheaper.
void offer(std::vector<Option>& options, const StockValue& value, double cost) {
  for (Option& o : options) {
    if (o.amount != value.amount) continue;
    if (cost < o.cost) o = {value.text, value.amount, cost};
    return;
  }
  options.push_back({value.text, value.amount, cost});
}

void finish(std::vector<Option>& options) {
  std::sort(options.begin(), options.end(), [](const Option& a, const Option& b) { return a.amount < b.amount; });
  for (std::size_t i = 0; i < options.size(); ++i) options[i].cost += tie_cost * static_cast<double>(i);
}

double priced(const StockValue& value, double pieces, Objective objective) {
  return objective == Objective::price ? value.price.value_or(0) * pieces : 0;
}

void offer_cable(Value& value, const Loom& loom, const Stock& stock, Objective objective) {
  double metres = 0;
  std::string insulation;
  std::optional<double> volts;
  for (const Slot& slot : value.slots) {
    const Wire* wire = find_wire(loom, slot.owner);
    if (!wire) continue;
    metres += wire->length ? wire->length->value.value : 1;
    if (wire->insulation) insulation = wire->insulation->value;
    if (wire->volts) volts = std::max(volts.value_or(0), wire->volts->value.value);
  }
  for (const CableRow& row : stock.cables) {
    if (!row.insulation.empty() && row.insulation != insulation) continue;
    if (row.volts && volts && *row.volts < *volts) continue;
    for (const StockValue& size : row.sizes) {
      offer(value.options, size,
            objective == Objective::weight ? copper_kg(size.amount, metres) : priced(size, metres, objective));
    }
  }
  finish(value.options);
  // A larger wire that costs no more does all that the smaller one does.
  std::vector<Option> kept;
  for (auto option = value.options.rbegin(); option != value.options.rend(); ++option) {
    if (kept.empty() || option->cost < kept.back().cost) kept.push_back(*option);
  }
  value.options.assign(kept.rbegin(), kept.rend());
  const std::string cable = insulation.empty() ? "cable" : insulation + " cable";
  value.domain = value.options.empty() ? fmt::format("there is no {} in stock", cable)
                                       : fmt::format("the largest {} in stock is {}", cable, value.options.back().text);
}

void offer_fuses(Value& value, const Loom& loom, const Stock& stock, Objective objective) {
  const Slot& slot = value.slot();
  const Part* part = find_part(loom, slot.owner);
  const std::string prefix = slot.attribute == "rated" ? "" : slot.attribute.substr(0, slot.attribute.find('.') + 1);
  std::string curve = part ? part->text(prefix + "curve").value_or("") : "";
  if (part && part->kind == "breaker") curve = "breaker";
  const auto volts = part ? part->number(prefix + "volts") : std::nullopt;
  const auto breaks = part ? part->number(prefix + "breaks") : std::nullopt;
  for (const FuseRow& row : stock.fuses) {
    if (!row.curve.empty() && !curve.empty() && row.curve != curve) continue;
    if (row.volts && volts && *row.volts < *volts) continue;
    if (row.breaks_a && breaks && *row.breaks_a < *breaks) continue;
    for (const StockValue& rated : row.rated) offer(value.options, rated, priced(rated, 1, objective));
  }
  finish(value.options);
  const std::string fuse = curve.empty() ? "fuse" : curve + " fuse";
  value.domain = value.options.empty() ? fmt::format("there is no {} in stock that fits '{}'", fuse, slot.owner)
                                       : fmt::format("the largest {} in stock is {}", fuse, value.options.back().text);
}

void offer_list(Value& value, const std::vector<StockValue>& list, Objective objective) {
  for (const StockValue& each : list) offer(value.options, each, priced(each, 1, objective));
  finish(value.options);
  value.domain = value.options.empty() ? "the stock's list is empty"
                                       : fmt::format("the largest in stock is {}", value.options.back().text);
}

}  // namespace

std::string Value::title() const {
  return fmt::format("{} of '{}'", slot().attribute, slot().owner);
}

double copper_kg(double size_mm2, double length_m) {
  constexpr double kg_per_mm2_m = 8.96e-3;
  return kg_per_mm2_m * size_mm2 * length_m;
}

Place place_in(const Loom& loom, const Slot& slot) {
  if (slot.of_wire) {
    const Wire* wire = find_wire(loom, slot.owner);
    return wire && wire->size ? wire->size->at : Place{};
  }
  const Part* part = find_part(loom, slot.owner);
  const Scalar* scalar = part ? part->find(slot.attribute) : nullptr;
  return scalar ? scalar->at : Place{};
}

std::vector<Value> values_of(const Loom& loom, const std::vector<Slot>& slots, const Stock& stock,
                             Objective objective) {
  std::map<Place, std::size_t> known;
  std::vector<Value> out;
  for (const Slot& slot : slots) {
    const auto [at, fresh] = known.try_emplace(slot.at, out.size());
    if (fresh) out.emplace_back().type = type_of(slot);
    out[at->second].slots.push_back(slot);
  }
  for (Value& value : out) {
    switch (value.type) {
      case Value::Type::wire:
        offer_cable(value, loom, stock, objective);
        break;
      case Value::Type::fuse:
        offer_fuses(value, loom, stock, objective);
        break;
      case Value::Type::contact:
        offer_list(value, stock.contacts, objective);
        break;
      case Value::Type::ohms:
        offer_list(value, stock.ohms, objective);
        break;
      case Value::Type::watts:
        offer_list(value, stock.watts, objective);
        break;
      case Value::Type::pulse:
        offer_list(value, stock.pulses, objective);
        break;
    }
  }
  return out;
}

}  // namespace loomproof
