"""Engine room: scenario to arrays; the fused kernel, its plan, pool and readable twin."""
