#include "scenarios/layer_stack.hpp"

namespace torsowave::scenarios {

const std::string& LayerStack::tissue_at(double x) const noexcept
{
  if (x < first_face) {
    return first;
  }
  for (const Slab& slab : slabs) {
    if (x < slab.to) {
      return slab.tissue;
    }
  }
  return last;
}

LayerStack layer_stack(const BodySpec& body)
{
  LayerStack stack;
  stack.first = body.background;
  stack.last = body.background;
  stack.first_face = body.first_face;
  stack.last_face = body.first_face;
  for (std::size_t i = 0; i < body.layers.size(); ++i) {
    const LayerSpec& layer = body.layers[i];
    if (layer.thickness) {
      const double from = stack.last_face;
      stack.last_face += *layer.thickness;
      stack.slabs.push_back({layer.tissue, from, stack.last_face});
    } else if (i == 0) {
      stack.first = layer.tissue;
      stack.first_in_body = true;
    } else {
      stack.last = layer.tissue;
      stack.last_in_body = true;
    }
  }
  return stack;
}

}  // namespace torsowave::scenarios
