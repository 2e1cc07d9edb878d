from django.urls import path

from batches.views import card, cure, plan, pour, rack, record, shelf, today, weigh

app_name = "batches"

urlpatterns = [
    path("", today.today, name="today"),
    path("pour/", plan.pour_list, name="pour"),
    path("pour/plan/<int:version_pk>/", plan.plan, name="plan"),
    path("batches/", record.batch_list, name="list"),
    path("batches/<int:pk>/", record.batch, name="batch"),
    path("batches/<int:pk>/card.pdf", card.card, name="card"),
    path("batches/<int:pk>/drop/", plan.drop, name="drop"),
    path("batches/<int:pk>/weigh/", weigh.weigh, name="weigh"),
    path("batches/<int:pk>/weigh/undo/", weigh.undo, name="weigh_undo"),
    path("batches/<int:pk>/weigh/leave/", weigh.leave, name="leave"),
    path("batches/<int:pk>/add/", weigh.add, name="add_to_pot"),
    path("batches/<int:pk>/lye/", weigh.lye, name="lye"),
    path("batches/<int:pk>/pour/", pour.confirm, name="confirm"),
    path("batches/<int:pk>/undo/", pour.undo, name="undo"),
    path("batches/<int:pk>/unmould/", cure.unmould, name="unmould"),
    path("batches/<int:pk>/cut/", cure.cut, name="cut"),
    path("batches/<int:pk>/note/", cure.note, name="note"),
    path("batches/<int:pk>/weigh-in/", cure.weigh_in, name="weigh_in"),
    path("rack/", rack.rack, name="rack"),
    path("shelf/", shelf.shelf, name="shelf"),
    path("shelf/<int:pk>/take/", shelf.take, name="take"),
    path("shelf/<int:pk>/recount/", shelf.recount, name="recount"),
    path("shelf/movements/<int:pk>/back/", shelf.bring_back, name="bring_back"),
]
