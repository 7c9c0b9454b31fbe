// From the loom's wires and parts to the free values.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "model/loom.h"
#include "size/value.h"

namespace loomproof {

class Lookup {
 public:
  Lookup(const Loom& loom, const std::vector<Value>& values) : wire_(loom.wires.size()) {
    std::map<std::string, std::size_t, std::less<>> wires;
    for (std::size_t w = 0; w < loom.wires.size(); ++w) wires.emplace(loom.wires[w].name, w);
    for (std::size_t v = 0; v < values.size(); ++v) {
      for (const Slot& slot : values[v].slots) {
        if (slot.of_wire) {
          if (const auto found = wires.find(slot.owner); found != wires.end()) wire_[found->second] = v;
        } else if (const auto part = loom.find_part(slot.owner)) {
          part_[{part->value, slot.attribute}] = v;
        }
        places_.emplace(place_in(loom, slot), v);
      }
    }
  }

  std::optional<std::size_t> wire(std::size_t w) const { return wire_[w]; }
  std::optional<std::size_t> part(PartIndex p, const std::string& attribute) const {
    const auto found = part_.find({p.value, attribute});
    return found == part_.end() ? std::nullopt : std::optional(found->second);
  }
  std::optional<std::size_t> rating(PartIndex p) const {
    const auto own = part(p, "rated");
    return own ? own : part(p, "sense_fuse.rated");
  }
  std::optional<std::size_t> at(Place place) const {
    const auto found = places_.find(place);
    return !place || found == places_.end() ? std::nullopt : std::optional(found->second);
  }

 private:
  std::vector<std::optional<std::size_t>> wire_;
  std::map<std::pair<std::size_t, std::string>, std::size_t> part_;
  std::map<Place, std::size_t> places_;
};

}  // namespace loomproof
