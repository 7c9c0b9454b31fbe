// Records found by a key of bytes.
#include "solve/record_memo.h"

#include <algorithm>
#include <cstring>
#include <utility>

namespace loomproof {
namespace {

constexpr std::size_t first_places = 256;

// Eight bytes at a time; the key is filled up to that.
std::uint32_t hash_of(const std::vector<std::uint8_t>& key) {
  std::uint64_t hash = 0x9e3779b97f4a7c15;
  for (std::size_t i = 0; i < key.size(); i += 8) {
    std::uint64_t word = 0;
    std::memcpy(&word, key.data() + i, 8);
    hash = (hash ^ word) * 0xff51afd7ed558ccd;
    hash ^= hash >> 32;
  }
  return static_cast<std::uint32_t>(hash);
}

}  // namespace

void RecordMemo::clear() {
  if (records_ == 0) return;
  records_ = 0;
  std::fill(places_.begin(), places_.end(), Place{});
}

const std::uint64_t* RecordMemo::look_up(const std::vector<std::uint8_t>& key, std::uint32_t hash) const {
  if (records_ == 0) return nullptr;
  for (std::size_t at = hash & (places_.size() - 1); places_[at].record != 0; at = (at + 1) & (places_.size() - 1)) {
    if (places_[at].hash != hash) continue;
    const std::uint64_t* known = record(places_[at].record - 1);
    if (std::memcmp(known, key.data(), key.size()) == 0) return known + key_words_;
  }
  return nullptr;
}

const std::uint64_t* RecordMemo::find() {
  key_.resize(written_);  // shorter ones may have been begun
  key_.resize((written_ + 7) / 8 * 8, 0);
  hash_ = hash_of(key_);
  const std::uint64_t* known = base_ != nullptr ? base_->look_up(key_, hash_) : nullptr;
  return known != nullptr ? known : look_up(key_, hash_);
}

std::size_t RecordMemo::free_place(std::uint32_t hash) const {
  std::size_t at = hash & (places_.size() - 1);
  while (places_[at].record != 0) at = (at + 1) & (places_.size() - 1);
  return at;
}

void RecordMemo::grow() {
  const std::vector<Place> before = std::move(places_);
  places_.assign(std::max(first_places, 2 * before.size()), {});
  for (const Place& p : before) {
    if (p.record != 0) places_[free_place(p.hash)] = p;
  }
}

std::uint64_t* RecordMemo::keep(std::size_t words) {
  key_words_ = key_.size() / 8;
  record_words_ = key_words_ + words;
  if ((records_ + 1) * record_words_ * 8 > most_bytes_) clear();
  if (2 * (records_ + 1) > places_.size()) grow();
  if (records_ / piece_records == pool_.size()) {
    pool_.push_back(std::make_unique_for_overwrite<std::uint64_t[]>(piece_records * record_words_));
  }
  std::uint64_t* const start = record(records_);
  ++records_;
  places_[free_place(hash_)] = {hash_, static_cast<std::uint32_t>(records_)};
  std::memcpy(start, key_.data(), key_.size());
  return start + key_words_;
}

}  // namespace loomproof
