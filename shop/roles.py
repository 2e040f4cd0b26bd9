def what_i_may(request):
    return {}
