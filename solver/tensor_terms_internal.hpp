/// \file
/// \brief The tensors of a TEz medium in the kernels' form, with their memory.

#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "solver/kernels/tez_args.hpp"
#include "solver/state_archive.hpp"
#include "solver/tez_medium.hpp"

namespace torsowave::solver {

/// Arrays behind kernels::TensorTerms.
template <class Real>
class TensorArrays {
public:
  TensorArrays(const TezMedium& medium, int ny)
      : nodes_(node_terms(medium)),
        node_rows_(first_of_rows(medium.nodes, ny + 1)),
        state_(nodes_.size() * (1 + medium.relaxation_times.size()) *
               kernels::node_lanes),
        result_(nodes_.size() * kernels::node_edges),
        x_edges_(edge_terms(medium.x_tensor_edges)),
        x_rows_(first_of_rows(medium.x_tensor_edges, ny + 1)),
        x_scalar_(x_edges_.size()),
        y_edges_(edge_terms(medium.y_tensor_edges)),
        y_rows_(first_of_rows(medium.y_tensor_edges, ny)),
        y_scalar_(y_edges_.size())
  {
  }

  [[nodiscard]] kernels::TensorTerms<Real> view()
  {
    return {nodes_.data(),    nodes_.empty() ? nullptr : node_rows_.data(),
            state_.data(),    result_.data(),
            x_edges_.data(),  x_rows_.data(),
            x_scalar_.data(), y_edges_.data(),
            y_rows_.data(),   y_scalar_.data()};
  }

  void save(StateWriter& out) const
  {
    for (const std::vector<Real>* values : {&state_, &result_, &x_scalar_, &y_scalar_}) {
      out.write("tensors", *values);
    }
  }
  void restore(StateReader& in)
  {
    for (std::vector<Real>* values : {&state_, &result_, &x_scalar_, &y_scalar_}) {
      in.read("tensors", *values);
    }
  }

private:
  static std::vector<kernels::NodeTerm<Real>> node_terms(const TezMedium& medium)
  {
    std::vector<kernels::NodeTerm<Real>> terms;
    for (const TensorNode& node : medium.nodes) {
      kernels::NodeTerm<Real> term{};
      term.i = node.i;
      for (std::size_t m = 0; m < node_lanes; ++m) {
        term.media[m] = node.media[m];
        for (std::size_t e = 0; e < node.lanes[m].size(); ++e) {
          term.vector[m][e] = static_cast<Real>(node.lanes[m][e]);
        }
      }
      terms.push_back(term);
    }
    return terms;
  }

  static std::vector<kernels::EdgeTerm> edge_terms(const std::vector<TensorEdge>& edges)
  {
    std::vector<kernels::EdgeTerm> terms;
    terms.reserve(edges.size());
    for (const TensorEdge& edge : edges) {
      terms.push_back({edge.i, edge.low, edge.high});
    }
    return terms;
  }

  /// Where each row begins in a list sorted by row (member j), and where the last ends.
  template <class Item>
  static std::vector<std::int32_t> first_of_rows(const std::vector<Item>& items, int rows)
  {
    std::vector<std::int32_t> first(static_cast<std::size_t>(rows) + 1, 0);
    for (const Item& item : items) {
      ++first[static_cast<std::size_t>(item.j) + 1];
    }
    for (std::size_t r = 1; r < first.size(); ++r) {
      first[r] += first[r - 1];
    }
    return first;
  }

  std::vector<kernels::NodeTerm<Real>> nodes_;
  std::vector<std::int32_t> node_rows_;
  std::vector<Real> state_;
  std::vector<Real> result_;
  std::vector<kernels::EdgeTerm> x_edges_;
  std::vector<std::int32_t> x_rows_;
  std::vector<Real> x_scalar_;
  std::vector<kernels::EdgeTerm> y_edges_;
  std::vector<std::int32_t> y_rows_;
  std::vector<Real> y_scalar_;
};

}  // namespace torsowave::solver
