"""A corrective choice of joint weights: the least change that keeps cloth off the skin under it at stances."""
